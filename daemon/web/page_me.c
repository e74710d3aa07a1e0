/* SPDX-License-Identifier: MIT */
/*
 * page_me.c - what concerns only the caller: name, keys for other devices, sign-ins.
 */
#include "pages.h"

#include "act_people.h"
#include "field.h"
#include "frame.h"
#include "load.h"
#include "read.h"
#include "rows.h"
#include "say.h"

/* ---- showing ---- */

static void write_name_form(struct call *call, struct html *h)
{
	const struct member *me = &call->member;

	html_item(h, "h2", "Name and contact");
	field_form(call, h, "/me", field_version(call, me->version));
	field_line(call, h,
	    &(struct field){.name = "name",
		.label = "Your name",
		.value = me->name,
		.complete = "name"});
	field_line(call, h,
	    &(struct field){.name = "contact",
		.label = "Mail address or telephone number",
		.value = me->contact,
		.complete = "email",
		.optional = true,
		.hint = "Only you and the studio's owner see it."});
	field_submit(h, "Save", false);
	field_form_end(h);
}

static bool key_is_live(const struct key *key)
{
	return !key->revoked_at;
}

static void write_key(struct call *call, struct html *h, const struct key *key)
{
	html_open(h, "li", NULL);
	html_open(h, "h3", NULL);
	html_name(h, key->name);
	html_close(h, "h3");
	html_open(h, "dl", "class", "facts", NULL);
	frame_fact(h, "Made", say_instant(call, key->created_at));
	frame_fact(h, "Last used", say_instant(call, key->last_used_at));
	if (key->expires_at)
		frame_fact(h, "Ends", say_instant(call, key->expires_at));
	html_close(h, "dl");
	html_open(h, "p", NULL);
	html_open(h, "a", NULL);
	html_attrf(h, "href", "/keys/%lld/revoke", (long long)key->key_id);
	html_textf(h, "Revoke the key \"%s\"", key->name);
	html_close(h, "a");
	html_close(h, "p");
	html_close(h, "li");
}

static void write_keys(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);
	bool any = false;

	html_item(h, "h2", "Keys");
	html_open(h, "p", "class", "text", NULL);
	html_text(h, "With a key you sign in on another device, or use the "
		     "command line. A lost one is revoked here.");
	html_close(h, "p");
	for (size_t i = 0; i < l->n_keys; i++)
		any = any || key_is_live(&l->keys[i]);
	if (any)
		html_open(h, "ul", "class", "cards", NULL);
	for (size_t i = 0; i < l->n_keys; i++)
		if (key_is_live(&l->keys[i]))
			write_key(call, h, &l->keys[i]);
	if (any)
		html_close(h, "ul");
	field_form(call, h, "/me/keys", NULL);
	field_line(call, h,
	    &(struct field){.name = "key-name",
		.label = "Name of a new key",
		.hint = "For what it is: \"phone\", \"password manager\"."});
	field_submit(h, "Make a key", true);
	field_form_end(h);
}

static void write_session(
    struct call *call, struct html *h, const struct session *s)
{
	html_open(h, "tr", NULL);
	html_open(h, "td", NULL);
	html_name(h, *s->agent ? s->agent : "a browser without a name");
	if (s->session_id == call->caller.session_id)
		html_item(h, "strong", " (this one)");
	html_close(h, "td");
	html_item(h, "td", say_instant(call, s->created_at));
	html_item(h, "td", say_instant(call, s->last_seen_at));
	html_close(h, "tr");
}

static void write_sessions(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);

	html_item(h, "h2", "Where you are signed in");
	frame_scroll(h, "Where you are signed in");
	html_open(h, "table", NULL);
	html_open(h, "thead", NULL);
	html_open(h, "tr", NULL);
	frame_head(h, "Browser", false);
	frame_head(h, "Since", false);
	frame_head(h, "Last seen", false);
	html_close(h, "tr");
	html_close(h, "thead");
	html_open(h, "tbody", NULL);
	for (size_t i = 0; i < l->n_sessions; i++)
		if (!l->sessions[i].ended_at)
			write_session(call, h, &l->sessions[i]);
	html_close(h, "tbody");
	html_close(h, "table");
	frame_unscroll(h);
	html_open(h, "div", "class", "buttons", NULL);
	field_button(call, h, "/me/sessions", NULL, "End all others", true);
	html_close(h, "div");
}

static void write_me(struct call *call)
{
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h, &(struct frame){.title = "You", .here = "/me"});
	html_open(&h, "dl", "class", "facts", NULL);
	frame_fact(&h, "Roles", say_roles(call, call->caller.roles));
	html_close(&h, "dl");
	write_name_form(call, &h);
	write_keys(call, &h);
	write_sessions(call, &h);
	frame_answer(call, status, &h);
}

static void with_keys(struct call *call)
{
	load_sessions(call, write_me);
}

static void on_me(void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;

	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(call, ERR_MISSING, NULL, "there is no such member");
		return;
	}
	call->member = row_keep_member(call->arena, rows);
	if (call->writes)
		page_me_post(call);
	else
		load_keys(call, call->caller.member_id, with_keys);
}

void page_me(struct call *call)
{
	store_member(call->tx, call->caller.studio_id, call->caller.member_id,
	    on_me, call);
}

/* ---- changing ---- */

static void on_changed(struct call *call, const struct member *member)
{
	(void)member;
	call_answer_redirect(call, "/me?said=saved");
}

/* Runs twice: first to load who the caller is, then with call->member filled. */
void page_me_post(struct call *call)
{
	struct member to = call->member;

	call->on_fail = page_me;
	if (to.member_id == 0) {
		store_member(call->tx, call->caller.studio_id,
		    call->caller.member_id, on_me, call);
		return;
	}
	if (!field_version_is(call, to.version))
		return;
	to.name = read_line(call, "name", "your name", true, NAME_MAX_SIGNS);
	to.contact =
	    read_line(call, "contact", "the contact", false, TEXT_MAX_SIGNS);
	if (!call_is_faulty(call))
		act_member_change(call, &to, on_changed);
}

/* ---- keys ---- */

static void on_key(struct call *call, const struct key *key, const char *secret)
{
	struct html h;

	frame_begin(
	    call, &h, &(struct frame){.title = "Your new key", .here = "/me"});
	html_open(&h, "p", NULL);
	html_text(&h, "The key \"");
	html_name(&h, key->name);
	html_text(&h, "\" is shown this once. Keep it now: in a password "
		      "manager, or on paper.");
	html_close(&h, "p");
	html_open(&h, "p", NULL);
	html_open(&h, "code", "class", "secret", NULL);
	html_text(&h, secret);
	html_close(&h, "code");
	html_close(&h, "p");
	html_open(&h, "div", "class", "buttons", NULL);
	frame_button(&h, "/me", "I have kept it", false);
	html_close(&h, "div");
	frame_answer(call, 201, &h);
}

static void on_me_for_key(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;

	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(call, ERR_MISSING, NULL, "there is no such member");
		return;
	}
	call->member = row_keep_member(call->arena, rows);
	const char *name = read_line(
	    call, "key-name", "the name of the key", true, NAME_MAX_SIGNS);
	if (!call_is_faulty(call))
		act_key_add(call, name, NULL, on_key);
}

void page_me_key_post(struct call *call)
{
	call->on_fail = page_me;
	store_member(call->tx, call->caller.studio_id, call->caller.member_id,
	    on_me_for_key, call);
}

void page_key_revoke(struct call *call)
{
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = "Revoke this key?", .here = "/me"});
	html_open(&h, "p", NULL);
	html_text(&h, "Whoever signs in with the key \"");
	html_name(&h, call->key.name);
	html_text(&h, "\" is refused from then on. This cannot be undone; a "
		      "new key can be made at any time.");
	html_close(&h, "p");
	html_open(&h, "div", "class", "buttons", NULL);
	field_button(call, &h,
	    call_printf(call, "/keys/%lld/revoke", (long long)call->key.key_id),
	    NULL, "Revoke the key", false);
	frame_button(&h, "/me", "Keep it", true);
	html_close(&h, "div");
	frame_answer(call, 200, &h);
}

static void on_revoked(struct call *call)
{
	bool own = call->key.member_id == call->caller.member_id;

	call_answer_redirect(
	    call, own ? "/me?said=key-revoked"
		      : call_printf(call, "/members/%lld?said=key-revoked",
			    (long long)call->key.member_id));
}

void page_key_revoke_post(struct call *call)
{
	act_key_revoke(call, on_revoked);
}

/* ---- sign-ins ---- */

static void on_ended(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;

	(void)rows;
	(void)n;
	if (!call_failed(call, err))
		call_answer_redirect(call, "/me?said=ended");
}

void page_sessions_end_post(struct call *call)
{
	store_sessions_end_others(call->tx, call->caller.studio_id,
	    call->caller.member_id, call->caller.session_id, on_ended, call);
}
