/* SPDX-License-Identifier: MIT */
/*
 * Forms: fields with their label, hint and error, and the hidden fields that every form of ours
 * carries (the token of the session, a fresh Idempotency-Key, the version that was seen).
 *
 *     field_form(call, h, "/papers", version);          version NULL: none
 *     field_line(call, h, &(struct field){.name = "name", .label = "Name"});
 *     field_submit(h, "Add the paper", false);
 *     field_form_end(h);
 *
 * When a form comes back with something wrong, each field shows what was typed, and beside
 * it what is wrong with it: the fault whose pointer is "/" and the field's name.
 */
#ifndef WEB_FIELD_H
#define WEB_FIELD_H

#include "call.h"
#include "html.h"

struct field {
	const char *name, *label;
	const char *value;    /* what stands there at first; NULL: nothing */
	const char *hint;     /* or NULL */
	const char *type;     /* NULL: "text" */
	const char *mode;     /* inputmode: "numeric", "decimal"; NULL: none */
	const char *complete; /* autocomplete; NULL: "off" */
	bool small;
	bool optional;
};

struct choice {
	const char *value, *text;
};

void field_form(
    struct call *call, struct html *h, const char *action, const char *version);
void field_form_end(struct html *h);
/* Version of a row for field_form(). */
const char *field_version(struct call *call, int64_t version);

/* Is the version that the form was made from still the present one?  Else the call has ended with
 * ERR_STALE: the form comes back with what was typed. */
bool field_version_is(struct call *call, int64_t version);

void field_line(struct call *call, struct html *h, const struct field *field);
void field_area(struct call *call, struct html *h, const struct field *field);
void field_choose(struct call *call, struct html *h, const struct field *field,
    const struct choice *choices, size_t n);
/* A box to tick; its value is "yes". */
void field_tick(
    struct call *call, struct html *h, const struct field *field, bool ticked);
void field_hidden(struct html *h, const char *name, const char *value);
void field_submit(struct html *h, const char *text, bool quiet);
/* A second button of the same form that goes elsewhere. */
void field_submit_to(struct html *h, const char *action, const char *text);
/* A form that is only a button. */
void field_button(struct call *call, struct html *h, const char *action,
    const char *version, const char *text, bool quiet);

/* What was posted, else the value it had. */
const char *field_value(
    const struct call *call, const char *name, const char *before);
bool field_is_ticked(const struct call *call, const char *name);

/* The summary of what is wrong, nothing when all is well. */
void field_errors(struct call *call, struct html *h);

#endif
