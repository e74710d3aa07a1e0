/* SPDX-License-Identifier: MIT */
/*
 * Decoding of application/x-www-form-urlencoded: rows from the URL standard (WHATWG),
 * section 5.1, and what we refuse beyond it.
 */
#include <criterion/criterion.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "form.h"

Test(form, decodes_as_the_standard_says)
{
	static const struct {
		const char *body, *name, *value;
	} rows[] = {
	    {"a=b", "a", "b"},
	    {"a=b&c=d", "c", "d"},
	    {"a=b+c", "a", "b c"},
	    {"a=%2B%26%3D", "a", "+&="},
	    {"a=b=c", "a", "b=c"},
	    {"a", "a", ""},
	    {"a=", "a", ""},
	    {"&&a=1&&", "a", "1"},
	    {"a%20b=1", "a b", "1"},
	    {"a=%C3%a9", "a", "\xc3\xa9"},
	    {"a=12+1%2F2+in", "a", "12 1/2 in"},
	    {"a=x%0D%0Ay", "a", "x\ny"},
	    {"a=x%0Dy%0Az", "a", "x\ny\nz"},
	    {"a=x%0D%0D%0Ay", "a", "x\n\ny"},
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct form f = {0};
		struct err err;
		cr_expect(
		    form_parse(&f, rows[i].body, strlen(rows[i].body), &err),
		    "%s", rows[i].body);
		cr_expect_str_eq(form_text(&f, rows[i].name), rows[i].value,
		    "%s", rows[i].body);
		form_free(&f);
	}
}

Test(form, refuses_what_cannot_be_meant)
{
	static const struct {
		const char *body;
		size_t len;
		const char *says;
	} rows[] = {
	    {"a=1&a=2", 7, "twice"},
	    {"a=1&%61=2", 9, "twice"},
	    {"a=%", 3, "UTF-8"},
	    {"a=%4", 4, "UTF-8"},
	    {"a=%zz", 5, "UTF-8"},
	    {"a=%00", 5, "UTF-8"},
	    {"a=\0b", 4, "UTF-8"},
	    {"a=%ff", 5, "UTF-8"},
	    {"a=%c0%af", 8, "UTF-8"},
	    {"%ed%a0%80=1", 11, "UTF-8"},
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct form f = {0};
		struct err err;
		cr_expect(!form_parse(&f, rows[i].body, rows[i].len, &err),
		    "%s", rows[i].body);
		cr_expect(strstr(err.text, rows[i].says), "%s: %s",
		    rows[i].body, err.text);
		form_free(&f);
	}
}

static bool parses(const char *body, size_t len)
{
	struct form f = {0};
	struct err err;
	bool ok = form_parse(&f, body, len, &err);
	form_free(&f);
	return ok;
}

Test(form, limits_hold_at_their_edge)
{
	char body[2000] = "";
	for (int i = 0; i < FORM_FIELDS_MAX; i++)
		sprintf(body + strlen(body), "f%d=1&", i);
	cr_expect(parses(body, strlen(body)));
	strcat(body, "more=1");
	cr_expect(!parses(body, strlen(body)));

	char *big = malloc(FORM_BYTES_MAX + 1);
	memset(big, 'a', FORM_BYTES_MAX + 1);
	cr_expect(parses(big, FORM_BYTES_MAX));
	cr_expect(!parses(big, FORM_BYTES_MAX + 1));
	free(big);
}

Test(form, numbers_are_digits_only)
{
	static const struct {
		const char *body;
		int64_t n;
	} rows[] = {
	    {"n=0", 0},
	    {"n=17", 17},
	    {"n=999999999999999999", 999999999999999999},
	    {"n=1000000000000000000", -1},
	    {"n=-1", -1},
	    {"n=%2B1", -1},
	    {"n=1+", -1},
	    {"n=1e3", -1},
	    {"n=", -1},
	    {"m=1", -1},
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct form f = {0};
		struct err err;
		cr_assert(
		    form_parse(&f, rows[i].body, strlen(rows[i].body), &err));
		cr_expect_eq(
		    form_number(&f, "n", -1), rows[i].n, "%s", rows[i].body);
		form_free(&f);
	}
}
