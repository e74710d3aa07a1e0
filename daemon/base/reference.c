/* SPDX-License-Identifier: MIT */
/*
 * reference.c - references with check digits.
 *
 * A wrong or swapped digit gives another remainder of 97, so a bank's program notices the slip
 * before the money has gone.  A letter stands between the two ids because 71 and 2 would
 * otherwise read as 7 and 12.
 */
#include "reference.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BODY_MAX 21

static int value_of(char c)
{
	if (c >= '0' && c <= '9')
		return c - '0';
	return c >= 'A' && c <= 'Z' ? c - 'A' + 10 : -1;
}

int mod_97(const char *s, size_t len)
{
	int rest = 0;

	for (size_t i = 0; i < len; i++) {
		int value = value_of(s[i]);
		if (value < 0)
			return -1;
		rest = (rest * (value > 9 ? 100 : 10) + value) % 97;
	}
	return rest;
}

bool reference_make(char out[static REFERENCE_MAX], const char *body)
{
	char turned[BODY_MAX + 5];
	size_t len = strlen(body);
	int rest = -1;

	out[0] = '\0';
	if (len == 0 || len > BODY_MAX)
		return false;
	snprintf(turned, sizeof(turned), "%sRF00", body);
	rest = mod_97(turned, len + 4);
	if (rest < 0)
		return false;
	snprintf(out, REFERENCE_MAX, "RF%02d%s", 98 - rest, body);
	return true;
}

bool reference_of(
    char out[static REFERENCE_MAX], int64_t workshop_id, int64_t member_id)
{
	char body[48];

	out[0] = '\0';
	if (workshop_id < 1 || workshop_id > REFERENCE_ID_MAX ||
	    member_id < 1 || member_id > REFERENCE_ID_MAX)
		return false;
	snprintf(body, sizeof(body), "%lldM%lld", (long long)workshop_id,
	    (long long)member_id);
	return reference_make(out, body);
}

/* Letters to capitals, blanks left out; false when it is too long. */
static bool compact(char *out, size_t room, const char *s)
{
	size_t n = 0;

	for (; *s; s++) {
		if (*s == ' ')
			continue;
		if (n + 1 >= room)
			return false;
		out[n++] = *s >= 'a' && *s <= 'z' ? (char)(*s - 'a' + 'A') : *s;
	}
	out[n] = '\0';
	return true;
}

bool reference_read(char out[static REFERENCE_MAX], const char *s)
{
	char flat[REFERENCE_MAX], again[REFERENCE_MAX];

	out[0] = '\0';
	if (!compact(flat, sizeof(flat), s) || strncmp(flat, "RF", 2) != 0 ||
	    strlen(flat) < 5 || !reference_make(again, flat + 4) ||
	    strcmp(flat, again) != 0)
		return false;
	memcpy(out, flat, sizeof(flat));
	return true;
}

static bool read_id(const char **at, int64_t *id)
{
	size_t n = strspn(*at, "0123456789");

	if (n == 0 || n > 10 || **at == '0')
		return false;
	*id = strtoll(*at, NULL, 10);
	*at += n;
	return true;
}

bool reference_whose(const char *s, int64_t *workshop_id, int64_t *member_id)
{
	char flat[REFERENCE_MAX];
	const char *at = flat + 4;

	return reference_read(flat, s) && read_id(&at, workshop_id) &&
	       *at++ == 'M' && read_id(&at, member_id) && *at == '\0';
}

const char *grouped_by_four(char out[static GROUPED_MAX], const char *s)
{
	size_t n = 0;

	for (size_t i = 0; s[i] && n + 2 < GROUPED_MAX; i++) {
		if (i > 0 && i % 4 == 0)
			out[n++] = ' ';
		out[n++] = s[i];
	}
	out[n] = '\0';
	return out;
}
