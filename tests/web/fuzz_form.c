/* SPDX-License-Identifier: MIT */
/*
 * Any bytes as a form: what is taken is text, within its limits, and means the same when it is
 * written as a form again.
 */
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "form.h"
#include "html.h"
#include "text.h"

#define MUST(what)                                                             \
	do {                                                                   \
		if (!(what)) {                                                 \
			fprintf(stderr, "not true: %s\n", #what);              \
			abort();                                               \
		}                                                              \
	} while (0)

static void check_again(const struct form *form)
{
	struct form again = {0};
	struct err err = {0};
	struct text t;

	text_init(&t, (size_t)1 << 20);
	for (size_t i = 0; i < form->n; i++) {
		if (i > 0)
			text_add_char(&t, '&');
		url_add_part(&t, form->pairs[i].name);
		text_add_char(&t, '=');
		url_add_part(&t, form->pairs[i].value);
	}
	if (t.len <= FORM_BYTES_MAX) {
		MUST(form_parse(&again, t.data, t.len, &err));
		MUST(again.n == form->n);
		for (size_t i = 0; i < form->n; i++) {
			MUST(strcmp(again.pairs[i].name, form->pairs[i].name) ==
			     0);
			MUST(strcmp(again.pairs[i].value,
				 form->pairs[i].value) == 0);
		}
	}
	form_free(&again);
	text_free(&t);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct form form = {0};
	struct err err = {0};

	if (!form_parse(&form, (const char *)data, size, &err)) {
		MUST(err.kind == ERR_INPUT && err.text[0]);
	} else {
		MUST(size <= FORM_BYTES_MAX && form.n <= FORM_FIELDS_MAX);
		for (size_t i = 0; i < form.n; i++) {
			const struct form_pair *p = &form.pairs[i];

			MUST(utf8_is_valid(p->name, strlen(p->name)));
			MUST(utf8_is_valid(p->value, strlen(p->value)));
			MUST(form_get(&form, p->name) == p->value);
			form_number(&form, p->name, -1);
		}
		check_again(&form);
	}
	form_free(&form);
	return 0;
}
