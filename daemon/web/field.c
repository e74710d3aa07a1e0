/* SPDX-License-Identifier: MIT */
/*
 * field.c - one way to write a field, so that no label or error can be forgotten.
 *
 * No field is marked "required" for the browser: its own bubbles differ from browser to
 * browser and hide the summary; the server checks everything anyway.
 */
#include "field.h"

#include <string.h>

#include "form.h"
#include "page.h"
#include "session.h"
#include "say.h"

static const char *field_id(struct call *call, const char *name)
{
	return call_printf(call, "f-%s", name);
}

static const struct fault *fault_of(const struct call *call, const char *name)
{
	for (size_t i = 0; i < call->n_faults; i++) {
		const char *pointer = call->faults[i].pointer;
		if (pointer[0] == '/' && strcmp(pointer + 1, name) == 0)
			return &call->faults[i];
	}
	return NULL;
}

const char *field_value(
    const struct call *call, const char *name, const char *before)
{
	const char *posted = call->form ? form_get(call->form, name) : NULL;
	return posted ? posted : before ? before : "";
}

bool field_is_ticked(const struct call *call, const char *name)
{
	return call->form && strcmp(form_text(call->form, name), "yes") == 0;
}

const char *field_version(struct call *call, int64_t version)
{
	return call_printf(call, "%lld", (long long)version);
}

bool field_version_is(struct call *call, int64_t version)
{
	const char *seen = page_version(call);

	if (seen && strcmp(seen, field_version(call, version)) == 0)
		return true;
	call_refuse(call, ERR_STALE,
	    "Below is what you typed; look whether it still holds, and send it "
	    "again.",
	    "somebody changed this in the meantime");
	return false;
}

void field_hidden(struct html *h, const char *name, const char *value)
{
	html_open(
	    h, "input", "type", "hidden", "name", name, "value", value, NULL);
}

void field_form(
    struct call *call, struct html *h, const char *action, const char *version)
{
	char once[SECRET_TEXT], token[FORM_TOKEN_TEXT];
	html_open(h, "form", "method", "post", "action", action, NULL);
	if (call->secret) {
		session_token(call->secret, token);
		field_hidden(h, "token", token);
	}
	secret_make(once);
	field_hidden(h, "once", once);
	if (version)
		field_hidden(h, "version", version);
}

void field_form_end(struct html *h)
{
	html_close(h, "form");
}

/* Opens the box of a field and writes label, hint and error; gives the ids that describe it. */
static const char *open_field(
    struct call *call, struct html *h, const struct field *field)
{
	const struct fault *fault = fault_of(call, field->name);
	const char *id = field_id(call, field->name);
	const char *by = NULL;
	html_open(h, "div", "class", fault ? "field is-wrong" : "field", NULL);
	html_open(h, "label", "for", id, NULL);
	html_text(h, field->label);
	if (field->optional)
		html_text(h, " (optional)");
	html_close(h, "label");
	if (field->hint) {
		by = call_printf(call, "%s-hint", id);
		html_open(h, "span", "class", "hint", "id", by, NULL);
		html_text(h, field->hint);
		html_close(h, "span");
	}
	if (fault) {
		const char *wrong = call_printf(call, "%s-wrong", id);
		html_open(h, "span", "class", "wrong", "id", wrong, NULL);
		html_textf(
		    h, "%s %s", say_sentence(call, fault->text), fault->hint);
		html_close(h, "span");
		by = by ? call_printf(call, "%s %s", by, wrong) : wrong;
	}
	return by;
}

/* A secret that was sent does not come back in the page. */
static const char *line_value(
    const struct call *call, const struct field *field)
{
	if (field->type && strcmp(field->type, "password") == 0)
		return "";
	return field_value(call, field->name, field->value);
}

void field_line(struct call *call, struct html *h, const struct field *field)
{
	const char *by = open_field(call, h, field);
	html_open(h, "input", "type", field->type ? field->type : "text",
	    "name", field->name, "id", field_id(call, field->name), "value",
	    line_value(call, field), "autocomplete",
	    field->complete ? field->complete : "off", "inputmode", field->mode,
	    "class", field->small ? "short" : NULL, "aria-describedby", by,
	    "aria-invalid", fault_of(call, field->name) ? "true" : NULL, NULL);
	html_close(h, "div");
}

void field_area(struct call *call, struct html *h, const struct field *field)
{
	const char *by = open_field(call, h, field);
	html_open(h, "textarea", "name", field->name, "id",
	    field_id(call, field->name), "rows", "4", "aria-describedby", by,
	    "aria-invalid", fault_of(call, field->name) ? "true" : NULL, NULL);
	/* The first line end after the tag is not part of the text. */
	html_text(h, "\n");
	html_text(h, field_value(call, field->name, field->value));
	html_close(h, "textarea");
	html_close(h, "div");
}

void field_choose(struct call *call, struct html *h, const struct field *field,
    const struct choice *choices, size_t n)
{
	const char *by = open_field(call, h, field);
	const char *value = field_value(call, field->name, field->value);
	html_open(h, "select", "name", field->name, "id",
	    field_id(call, field->name), "aria-describedby", by, "aria-invalid",
	    fault_of(call, field->name) ? "true" : NULL, NULL);
	for (size_t i = 0; i < n; i++) {
		html_open(h, "option", "value", choices[i].value, "selected",
		    strcmp(value, choices[i].value) == 0 ? "" : NULL, NULL);
		html_text(h, choices[i].text);
		html_close(h, "option");
	}
	html_close(h, "select");
	html_close(h, "div");
}

void field_tick(
    struct call *call, struct html *h, const struct field *field, bool ticked)
{
	const char *id = field_id(call, field->name);
	const char *hint =
	    field->hint ? call_printf(call, "%s-hint", id) : NULL;
	bool on = call->form ? field_is_ticked(call, field->name) : ticked;
	html_open(h, "div", "class", "tick", NULL);
	html_open(h, "input", "type", "checkbox", "name", field->name, "id", id,
	    "value", "yes", "checked", on ? "" : NULL, "aria-describedby", hint,
	    NULL);
	html_open(h, "label", "for", id, NULL);
	html_text(h, field->label);
	html_close(h, "label");
	if (hint) {
		html_open(h, "span", "class", "hint", "id", hint, NULL);
		html_text(h, field->hint);
		html_close(h, "span");
	}
	html_close(h, "div");
}

void field_submit(struct html *h, const char *text, bool quiet)
{
	html_open(h, "button", "type", "submit", "class",
	    quiet ? "quiet" : NULL, NULL);
	html_text(h, text);
	html_close(h, "button");
}

void field_submit_to(struct html *h, const char *action, const char *text)
{
	html_open(h, "button", "type", "submit", "class", "quiet", "formaction",
	    action, NULL);
	html_text(h, text);
	html_close(h, "button");
}

void field_button(struct call *call, struct html *h, const char *action,
    const char *version, const char *text, bool quiet)
{
	field_form(call, h, action, version);
	field_submit(h, text, quiet);
	field_form_end(h);
}

static void write_error(struct call *call, struct html *h, const char *path,
    const char *text, const char *hint)
{
	html_open(h, "li", NULL);
	if (path)
		html_open(h, "a", "href", path, NULL);
	html_text(h, say_sentence(call, text));
	if (path)
		html_close(h, "a");
	if (hint && *hint)
		html_textf(h, " %s", hint);
	html_close(h, "li");
}

void field_errors(struct call *call, struct html *h)
{
	if (call->n_faults == 0 && call->err.kind == ERR_NONE)
		return;
	html_open(h, "div", "class", "errors", "role", "alert", NULL);
	html_item(h, "h2",
	    call->n_faults > 1 ? "Some things are to be put right"
			       : "Something is to be put right");
	html_open(h, "ul", NULL);
	for (size_t i = 0; i < call->n_faults; i++) {
		const struct fault *fault = &call->faults[i];
		write_error(call, h,
		    fault->pointer[0] == '/' && fault->pointer[1]
			? call_printf(call, "#f-%s", fault->pointer + 1)
			: NULL,
		    fault->text, fault->hint);
	}
	if (call->n_faults == 0)
		write_error(call, h, NULL, call->err.text, call->err.hint);
	html_close(h, "ul");
	html_close(h, "div");
}
