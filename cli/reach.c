/* SPDX-License-Identifier: MIT */
/*
 * reach.c - into a JSON value by a path of names.
 */
#include "reach.h"

#include <string.h>

const json_t *reach(const json_t *o, const char *path)
{
	while (o && *path) {
		size_t len = strcspn(path, "/");
		char name[64];
		if (len >= sizeof(name))
			return NULL;
		memcpy(name, path, len);
		name[len] = '\0';
		o = json_object_get(o, name);
		path += len + (path[len] == '/');
	}
	return o;
}

const char *reach_text(const json_t *o, const char *path)
{
	const char *s = json_string_value(reach(o, path));
	return s ? s : "";
}

int64_t reach_int(const json_t *o, const char *path)
{
	return json_integer_value(reach(o, path));
}

bool reach_true(const json_t *o, const char *path)
{
	return json_is_true(reach(o, path));
}
