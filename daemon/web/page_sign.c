/* SPDX-License-Identifier: MIT */
/*
 * page_sign.c - signing in with a key, and out.
 *
 * A key is pasted or filled in by a manager: nothing to remember, no puzzle (WCAG 3.3.8).  A form
 * that was posted after its session had ended travels along inside the sign-in form, and
 * is offered afterwards, to be sent by a click: never by itself, so that signing in does
 * nothing but sign in.
 */
#include "pages.h"

#include <string.h>

#include "call_inner.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "rows.h"
#include "session.h"
#include "signin.h"

#define KEPT_PATH "kept-path"
#define KEPT_FIELD "kept-" /* + the name of the field */
#define KEPT_MAX ((size_t)12 << 10)

static bool is_our_own_field(const char *name)
{
	return strcmp(name, "token") == 0 || strcmp(name, "once") == 0;
}

static size_t form_size(const struct form *form)
{
	size_t size = 0;

	for (size_t i = 0; i < form->n; i++)
		size +=
		    strlen(form->pairs[i].name) + strlen(form->pairs[i].value);
	return size;
}

/* The form that was posted, as hidden fields of the sign-in form. */
static void keep_form(struct call *call, struct html *h, const char *path)
{
	if (form_size(call->form) > KEPT_MAX)
		return;
	field_hidden(h, KEPT_PATH, path);
	for (size_t i = 0; i < call->form->n; i++)
		if (!is_our_own_field(call->form->pairs[i].name))
			field_hidden(h,
			    call_printf(call, KEPT_FIELD "%s",
				call->form->pairs[i].name),
			    call->form->pairs[i].value);
}

/* Once more what was kept, after a wrong key. */
static void keep_again(struct call *call, struct html *h)
{
	for (size_t i = 0; i < call->form->n; i++)
		if (strncmp(call->form->pairs[i].name, KEPT_FIELD,
			strlen(KEPT_FIELD)) == 0)
			field_hidden(h, call->form->pairs[i].name,
			    call->form->pairs[i].value);
}

static bool is_signin(const struct call *call)
{
	return call->route->run == page_signin ||
	       call->route->run == page_signin_post;
}

static void write_fields(struct call *call, struct html *h, const char *to)
{
	field_form(call, h, "/signin", NULL);
	field_line(call, h,
	    &(struct field){.name = "key",
		.label = "Your key",
		.type = "password",
		.complete = "current-password",
		.hint = "It begins with tsk_. Paste it here."});
	if (to && url_is_own(to))
		field_hidden(h, "to", to);
	if (call->form && is_signin(call))
		keep_again(call, h);
	else if (call->form)
		keep_form(call, h, http_path(call->req));
	field_submit(h, "Sign in", false);
	field_form_end(h);
}

static void write_signin(
    struct call *call, int status, const char *to, bool was_sent_here)
{
	struct html h;

	frame_begin(
	    call, &h, &(struct frame){.title = "Sign in", .here = "/signin"});
	if (was_sent_here)
		frame_status(&h,
		    call->form
			? "You were signed out in the meantime. Nothing that "
			  "you "
			  "typed is lost: sign in, and you can send it then."
			: "This page needs to know who you are.");
	write_fields(call, &h, to);
	html_open(&h, "div", "class", "text", NULL);
	html_item(&h, "h2", "No key?");
	html_open(&h, "p", NULL);
	html_text(&h, "With the link or the code of an ");
	html_open(&h, "a", "href", "/join", NULL);
	html_text(&h, "invitation");
	html_close(&h, "a");
	html_text(&h, " you join a workshop, and this browser stays signed in. "
		      "If you joined before from another device or lost your "
		      "key, ask the instructor for one.");
	html_close(&h, "p");
	html_close(&h, "div");
	frame_answer(call, status, &h);
}

void page_signin(struct call *call)
{
	write_signin(call, 200, call_query(call, "to"), false);
}

void signin_ask(struct call *call, int status)
{
	const char *to =
	    http_method(call->req) == HTTP_POST ? NULL : http_path(call->req);

	err_clear(&call->err);
	call->n_faults = 0;
	call->secret = NULL; /* whatever cookie there is, it opens nothing */
	call_field(call, "WWW-Authenticate", "Bearer");
	write_signin(call, status, to, true);
}

static void show_again(struct call *call)
{
	write_signin(
	    call, frame_status_of(call), form_get(call->form, "to"), false);
}

/* ---- what was kept ---- */

static bool is_kept(const struct form_pair *pair)
{
	return strncmp(pair->name, KEPT_FIELD, strlen(KEPT_FIELD)) == 0 &&
	       strcmp(pair->name, KEPT_PATH) != 0;
}

static void write_kept_fields(struct call *call, struct html *h)
{
	html_open(h, "dl", "class", "facts", NULL);
	for (size_t i = 0; i < call->form->n; i++) {
		const struct form_pair *pair = &call->form->pairs[i];
		const char *name = pair->name + strlen(KEPT_FIELD);

		if (!is_kept(pair) || !*pair->value ||
		    strcmp(name, "version") == 0)
			continue;
		html_item(h, "dt", name);
		html_open(h, "dd", NULL);
		html_name(h, pair->value);
		html_close(h, "dd");
	}
	html_close(h, "dl");
	for (size_t i = 0; i < call->form->n; i++)
		if (is_kept(&call->form->pairs[i]))
			field_hidden(h,
			    call->form->pairs[i].name + strlen(KEPT_FIELD),
			    call->form->pairs[i].value);
}

static void write_kept(struct call *call)
{
	const char *path = form_text(call->form, KEPT_PATH);
	struct html h;

	frame_begin(
	    call, &h, &(struct frame){.title = "You are signed in again"});
	html_item(&h, "p", "This is what you were about to send:");
	field_form(call, &h, path, NULL);
	write_kept_fields(call, &h);
	html_open(&h, "div", "class", "buttons", NULL);
	field_submit(&h, "Send it now", false);
	frame_button(&h, "/", "Leave it", true);
	html_close(&h, "div");
	field_form_end(&h);
	frame_answer(call, 200, &h);
}

/* ---- signing in ---- */

struct signing {
	struct caller found; /* whose key it is */
	const char *secret;  /* of the new session */
};

static void on_started(struct call *call)
{
	const struct signing *s = call->state;
	const char *to = form_text(call->form, "to");
	const char *kept = form_text(call->form, KEPT_PATH);

	call->caller = s->found;
	call->secret = s->secret;
	if (*kept && url_is_own(kept))
		write_kept(call);
	else
		call_answer_redirect(
		    call, url_is_own(to) ? to : "/?said=signed-in");
}

static void refuse(struct call *call)
{
	if (call_count_failure(call)) {
		call_field(call, "Retry-After", "60");
		call_refuse(call, ERR_LIMIT, "Wait a minute, then try again.",
		    "too many wrong keys came from this address");
		return;
	}
	call_fault(call, "/key",
	    "Look whether it was copied whole; or ask for a new one.",
	    "this key opens nothing");
	call_is_faulty(call);
}

static void on_key(void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct signing *s = call->state;

	if (call_failed(call, err))
		return;
	if (n == 0) {
		refuse(call);
		return;
	}
	s->found = row_keep_caller(call->arena, rows);
	session_start(call, s->found.studio_id, s->found.member_id, &s->secret,
	    on_started);
}

/* What people paste has spaces and line ends around it. */
static const char *trimmed(struct call *call, const char *s)
{
	size_t len;

	s += strspn(s, " \t\n");
	len = strlen(s);
	while (len > 0 && strchr(" \t\n", s[len - 1]))
		len--;
	return call_printf(call, "%.*s", (int)len, s);
}

void page_signin_post(struct call *call)
{
	const char *key = trimmed(call, form_text(call->form, "key"));
	unsigned char hash[SECRET_SIZE];

	call->on_fail = show_again;
	call->state = call_alloc(call, sizeof(struct signing));
	if (!*key) {
		call_fault(call, "/key", "Paste your key.", "there is no key");
		call_is_faulty(call);
		return;
	}
	if (!secret_is_key(key)) {
		refuse(call);
		return;
	}
	secret_hash(key, hash);
	store_caller_by_key(call->tx, hash, on_key, call);
}

/* ---- signing out ---- */

static void on_ended(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;

	(void)rows;
	(void)n;
	if (call_failed(call, err))
		return;
	session_cookie_set(call, NULL);
	call_field(
	    call, "Clear-Site-Data", "\"cache\", \"cookies\", \"storage\"");
	call_answer_redirect(call, "/?said=signed-out");
}

void page_signout(struct call *call)
{
	store_session_end(call->tx, call->caller.studio_id,
	    call->caller.session_id, on_ended, call);
}
