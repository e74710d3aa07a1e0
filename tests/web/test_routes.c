/* SPDX-License-Identifier: MIT */
/*
 * Paths to routes.
 */
#include <criterion/criterion.h>

#include <stdio.h>
#include <string.h>

#include "route.h"

static enum route_found find(enum http_method method, const char *path,
    const struct route **route, int64_t *id, char text[static ROUTE_TEXT_MAX],
    char allow[static ROUTE_ALLOW_MAX])
{
	*route = NULL;
	return route_find(method, path, route, id, text, allow);
}

Test(routes, a_path_finds_its_row)
{
	static const struct {
		enum http_method method;
		const char *path, *form; /* NULL: unknown */
		int64_t id;
	} rows[] = {
	    {HTTP_GET, "/v1/papers", "/v1/papers", 0},
	    {HTTP_HEAD, "/v1/papers", "/v1/papers", 0},
	    {HTTP_GET, "/v1/papers/7", "/v1/papers/{id}", 7},
	    {HTTP_GET, "/v1/workshops/12/requests",
		"/v1/workshops/{id}/requests", 12},
	    {HTTP_POST, "/v1/plans/123456789012345678/accept",
		"/v1/plans/{id}/accept", INT64_C(123456789012345678)},
	    {HTTP_GET, "/v1/papers/0", NULL, 0},
	    {HTTP_GET, "/v1/papers/07", NULL, 0},
	    {HTTP_GET, "/v1/papers/-7", NULL, 0},
	    {HTTP_GET, "/v1/papers/7x", NULL, 0},
	    {HTTP_GET, "/v1/papers/1234567890123456789", NULL, 0},
	    {HTTP_GET, "/v1/papers/", NULL, 0},
	    {HTTP_GET, "/v1/papers/7/", NULL, 0},
	    {HTTP_GET, "/v1/paper", NULL, 0},
	    {HTTP_GET, "/v1/papersx", NULL, 0},
	    {HTTP_GET, "/V1/papers", NULL, 0},
	};
	const struct route *route = NULL;
	char text[ROUTE_TEXT_MAX], allow[ROUTE_ALLOW_MAX];
	int64_t id;

	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		enum route_found found = find(
		    rows[i].method, rows[i].path, &route, &id, text, allow);

		cr_expect_eq(found,
		    rows[i].form == NULL ? ROUTE_UNKNOWN : ROUTE_FOUND, "%s",
		    rows[i].path);
		if (found == ROUTE_FOUND && rows[i].form != NULL) {
			cr_expect_str_eq(route->path, rows[i].form);
			cr_expect_eq(id, rows[i].id, "%s", rows[i].path);
		}
	}
}

Test(routes, another_method_is_told_which_there_are)
{
	const struct route *route = NULL;
	char text[ROUTE_TEXT_MAX], allow[ROUTE_ALLOW_MAX];
	int64_t id;

	cr_assert_eq(find(HTTP_PUT, "/v1/requests/1", &route, &id, text, allow),
	    ROUTE_OTHER_METHOD);
	cr_assert_str_eq(allow, "GET, HEAD, PATCH, DELETE");
	cr_assert_eq(
	    find(HTTP_GET, "/problems/input", &route, &id, text, allow),
	    ROUTE_FOUND);
	cr_assert_str_eq(text, "input");
}

Test(routes, every_row_is_whole)
{
	const struct route *route = NULL;

	for (size_t i = 0; (route = web_routes(i)) != NULL; i++) {
		bool writes = (route->flags & ROUTE_WRITES) != 0;
		bool page = (route->flags & ROUTE_PAGE) != 0;
		bool has_id = strstr(route->path, "{id}") != NULL;
		bool names = route->object != OBJECT_NONE &&
			     route->object != OBJECT_STUDIO;

		cr_expect_not_null(route->run, "%s", route->path);
		cr_expect_eq(
		    has_id, names, "%s: an id names an object", route->path);
		cr_expect((route->flags & ROUTE_PUBLIC) != 0 ||
			      (route->all | route->own) != 0,
		    "%s: somebody may", route->path);
		if (page)
			continue;
		cr_expect_eq(writes, route->method != HTTP_GET,
		    "%s: GET changes nothing", route->path);
		cr_expect_eq((route->flags & ROUTE_ONCE) != 0,
		    route->method == HTTP_POST, "%s", route->path);
		cr_expect_eq((route->flags & ROUTE_BODY) != 0,
		    route->method == HTTP_POST || route->method == HTTP_PATCH,
		    "%s", route->path);
		if (route->method == HTTP_PATCH)
			cr_expect(route->flags & ROUTE_MATCH,
			    "%s: a change names its version", route->path);
	}
}
