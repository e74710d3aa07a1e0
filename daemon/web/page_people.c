/* SPDX-License-Identifier: MIT */
/*
 * page_people.c - the members of the studio: who they are, what they may do, a new key for who
 * lost theirs.
 */
#include "pages.h"

#include "act_people.h"
#include "field.h"
#include "frame.h"
#include "load.h"
#include "read.h"
#include "say.h"

static bool is_owner(const struct call *call)
{
	return call_has_role(call, ROLE_OWNER);
}

static bool may_add(const struct call *call)
{
	return call_has_role(call, ROLE_OWNER | ROLE_INSTRUCTOR);
}

static bool sees_contact(const struct call *call, const struct member *m)
{
	return is_owner(call) || m->member_id == call->caller.member_id;
}

/* ---- roles as boxes ---- */

static const char *role_field(struct call *call, unsigned role)
{
	return call_printf(call, "role-%s", role_name(role));
}

static void write_roles(struct call *call, struct html *h, int64_t roles)
{
	html_open(h, "fieldset", "id", "f-roles", NULL);
	html_item(h, "legend", "Roles");
	for (unsigned role = ROLE_STUDENT; role <= ROLE_OWNER; role *= 2)
		field_tick(call, h,
		    &(struct field){.name = role_field(call, role),
			.label = role_name(role)},
		    (roles & role) != 0);
	html_close(h, "fieldset");
}

static int64_t read_roles(struct call *call)
{
	int64_t roles = 0;

	for (unsigned role = ROLE_STUDENT; role <= ROLE_OWNER; role *= 2)
		if (field_is_ticked(call, role_field(call, role)))
			roles |= role;
	if (roles == 0)
		call_fault(call, "/roles", "Tick at least one.",
		    "a member needs a role");
	return roles;
}

/* ---- all members ---- */

static void write_row(struct call *call, struct html *h, const struct member *m)
{
	html_open(h, "tr", NULL);
	html_open(h, "th", "scope", "row", NULL);
	html_open(h, "a", NULL);
	html_attrf(h, "href", "/members/%lld", (long long)m->member_id);
	html_name(h, m->name);
	html_close(h, "a");
	html_close(h, "th");
	html_item(h, "td", say_roles(call, m->roles));
	html_item(h, "td", m->active ? "active" : "left");
	html_close(h, "tr");
}

static void write_table(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);

	frame_scroll(h, "Members");
	html_open(h, "table", NULL);
	html_open(h, "thead", NULL);
	html_open(h, "tr", NULL);
	frame_head(h, "Name", false);
	frame_head(h, "Roles", false);
	frame_head(h, "State", false);
	html_close(h, "tr");
	html_close(h, "thead");
	html_open(h, "tbody", NULL);
	for (size_t i = 0; i < l->n_members; i++)
		write_row(call, h, &l->members[i]);
	html_close(h, "tbody");
	html_close(h, "table");
	frame_unscroll(h);
}

static void write_members(struct call *call)
{
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(
	    call, &h, &(struct frame){.title = "Members", .here = "/members"});
	write_table(call, &h);
	if (may_add(call)) {
		html_item(&h, "h2", "Add a member");
		field_form(call, &h, "/members", NULL);
		field_line(
		    call, &h, &(struct field){.name = "name", .label = "Name"});
		field_line(call, &h,
		    &(struct field){.name = "contact",
			.label = "Mail address or telephone number",
			.optional = true});
		field_tick(call, &h,
		    &(struct field){.name = "guardian",
			.label = "A parent or guardian acts for this member"},
		    false);
		if (is_owner(call))
			write_roles(call, &h, ROLE_STUDENT);
		field_submit(&h, "Add", false);
		field_form_end(&h);
	}
	frame_answer(call, status, &h);
}

void page_members(struct call *call)
{
	call->state = NULL;
	load_members(call, write_members);
}

static void on_added(struct call *call, const struct member *member)
{
	call_answer_redirect(call, call_printf(call, "/members/%lld?said=added",
				       (long long)member->member_id));
}

void page_members_post(struct call *call)
{
	struct member member = {
	    .studio_id = call->caller.studio_id, .active = true};

	call->on_fail = page_members;
	member.name = read_line(call, "name", "the name", true, NAME_MAX_SIGNS);
	member.contact =
	    read_line(call, "contact", "the contact", false, TEXT_MAX_SIGNS);
	member.guardian = field_is_ticked(call, "guardian");
	member.roles = is_owner(call) ? read_roles(call) : ROLE_STUDENT;
	if (!call_is_faulty(call))
		act_member_add(call, &member, on_added);
}

/* ---- one member ---- */

static const char *member_path(struct call *call, const char *more)
{
	return call_printf(
	    call, "/members/%lld%s", (long long)call->member.member_id, more);
}

static void write_change(struct call *call, struct html *h)
{
	const struct member *m = &call->member;

	field_form(
	    call, h, member_path(call, ""), field_version(call, m->version));
	field_line(call, h,
	    &(struct field){.name = "name", .label = "Name", .value = m->name});
	field_line(call, h,
	    &(struct field){.name = "contact",
		.label = "Mail address or telephone number",
		.value = m->contact,
		.optional = true});
	field_tick(call, h,
	    &(struct field){.name = "guardian",
		.label = "A parent or guardian acts for this member"},
	    m->guardian);
	write_roles(call, h, m->roles);
	field_tick(call, h,
	    &(struct field){.name = "active",
		.label = "Active",
		.hint = "Without it, all keys and sign-ins of this member "
			"end at once."},
	    m->active);
	field_submit(h, "Save", false);
	field_form_end(h);
}

static void write_keys(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);

	html_open(h, "ul", NULL);
	for (size_t i = 0; i < l->n_keys; i++) {
		const struct key *key = &l->keys[i];

		if (key->revoked_at)
			continue;
		html_open(h, "li", NULL);
		html_name(h, key->name);
		html_textf(h, ", last used: %s. ",
		    say_instant(call, key->last_used_at));
		html_open(h, "a", NULL);
		html_attrf(
		    h, "href", "/keys/%lld/revoke", (long long)key->key_id);
		html_textf(h, "Revoke \"%s\"", key->name);
		html_close(h, "a");
		html_close(h, "li");
	}
	html_close(h, "ul");
}

static bool any_key(const struct loaded *l)
{
	for (size_t i = 0; i < l->n_keys; i++)
		if (!l->keys[i].revoked_at)
			return true;
	return false;
}

static void write_member(struct call *call)
{
	const struct member *m = &call->member;
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(
	    call, &h, &(struct frame){.title = m->name, .here = "/members"});
	html_open(&h, "dl", "class", "facts", NULL);
	frame_fact(&h, "Roles", say_roles(call, m->roles));
	frame_fact(&h, "State", m->active ? "active" : "left");
	frame_fact(&h, "Since", say_instant(call, m->created_at));
	if (sees_contact(call, m) && *m->contact)
		frame_fact(&h, "Contact", m->contact);
	html_close(&h, "dl");
	if (is_owner(call))
		write_change(call, &h);
	if (may_add(call)) {
		html_item(&h, "h2", "Keys");
		if (any_key(loaded_of(call)))
			write_keys(call, &h);
		field_form(call, &h, member_path(call, "/keys"), NULL);
		field_line(call, &h,
		    &(struct field){.name = "key-name",
			.label = "Name of a new key",
			.hint = "It is shown once, to you: hand it to the "
				"member."});
		field_submit(&h, "Make a key", true);
		field_form_end(&h);
	}
	frame_answer(call, status, &h);
}

void page_member(struct call *call)
{
	call->state = NULL;
	if (is_owner(call))
		load_keys(call, call->member.member_id, write_member);
	else
		write_member(call);
}

static void on_saved(struct call *call, const struct member *member)
{
	(void)member;
	call_answer_redirect(call, member_path(call, "?said=saved"));
}

void page_member_post(struct call *call)
{
	struct member to = call->member;

	call->on_fail = page_member;
	if (!field_version_is(call, to.version))
		return;
	to.name = read_line(call, "name", "the name", true, NAME_MAX_SIGNS);
	to.contact =
	    read_line(call, "contact", "the contact", false, TEXT_MAX_SIGNS);
	to.guardian = field_is_ticked(call, "guardian");
	to.roles = read_roles(call);
	to.active = field_is_ticked(call, "active");
	if (!call_is_faulty(call))
		act_member_change(call, &to, on_saved);
}

/* ---- a key for them ---- */

static void on_key(struct call *call, const struct key *key, const char *secret)
{
	struct html h;

	(void)key;
	frame_begin(call, &h,
	    &(struct frame){
		.title = call_printf(call, "A key for %s", call->member.name),
		.here = "/members"});
	html_item(&h, "p",
	    "It is shown this once. Hand it over in person or by a way only "
	    "the two of you read.");
	html_open(&h, "p", NULL);
	html_open(&h, "code", "class", "secret", NULL);
	html_text(&h, secret);
	html_close(&h, "code");
	html_close(&h, "p");
	html_open(&h, "div", "class", "buttons", NULL);
	frame_button(&h, member_path(call, ""), "It is handed over", false);
	html_close(&h, "div");
	frame_answer(call, 201, &h);
}

void page_member_key_post(struct call *call)
{
	const char *name;

	call->on_fail = page_member;
	name = read_line(
	    call, "key-name", "the name of the key", true, NAME_MAX_SIGNS);
	if (!call_is_faulty(call))
		act_key_add(call, name, NULL, on_key);
}
