/* SPDX-License-Identifier: MIT */
/*
 * page_invite.c - the invitation of a workshop: made, shown once as link, code and QR code, revoked.
 *
 * Only hashes are kept, so the link cannot be shown again; making another is cheap, and the old
 * one goes on until it is revoked.
 */
#include "pages.h"

#include "act_workshop.h"
#include "field.h"
#include "frame.h"
#include "load.h"
#include "qr.h"
#include "read.h"
#include "say.h"

#define QR_MAX ((size_t)256 << 10)

static const char *path_of(struct call *call, const char *more)
{
	return call_printf(call, "/workshops/%lld/invite%s",
	    (long long)call->workshop.workshop_id, more);
}

static const char *state_of(const struct invitation *i)
{
	if (i->revoked_at)
		return "revoked";
	if (i->uses >= i->uses_max)
		return "used up";
	return i->good ? "good" : "ended";
}

static void write_row(
    struct call *call, struct html *h, const struct invitation *i)
{
	html_open(h, "tr", NULL);
	html_open(h, "th", "scope", "row", NULL);
	html_text(h, say_instant(call, i->created_at));
	html_close(h, "th");
	html_item(h, "td", state_of(i));
	frame_number(h, call_printf(call, "%lld of %lld", (long long)i->uses,
			    (long long)i->uses_max));
	html_item(h, "td", say_instant(call, i->expires_at));
	html_open(h, "td", NULL);
	if (!i->revoked_at && i->good)
		field_button(call, h,
		    call_printf(call, "/invitations/%lld/revoke",
			(long long)i->invitation_id),
		    NULL, "Revoke", true);
	html_close(h, "td");
	html_close(h, "tr");
}

static void write_table(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);

	html_item(h, "h2", "Invitations so far");
	frame_scroll(h, "Invitations so far");
	html_open(h, "table", NULL);
	html_open(h, "thead", NULL);
	html_open(h, "tr", NULL);
	frame_head(h, "Made", false);
	frame_head(h, "State", false);
	frame_head(h, "Used", true);
	frame_head(h, "Ends", false);
	frame_head(h, "Revoke", false);
	html_close(h, "tr");
	html_close(h, "thead");
	html_open(h, "tbody", NULL);
	for (size_t i = 0; i < l->n_invitations; i++)
		write_row(call, h, &l->invitations[i]);
	html_close(h, "tbody");
	html_close(h, "table");
	frame_unscroll(h);
}

static void write_invite(struct call *call)
{
	const struct loaded *l = loaded_of(call);
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = "Invitation",
		.workshop = &call->workshop,
		.tab = "/invite"});
	html_open(&h, "p", "class", "text", NULL);
	html_text(&h,
	    "An invitation is a link, with its QR code, and a code for typing. "
	    "Whoever has it can join this workshop, until its closing time.");
	html_close(&h, "p");
	field_form(call, &h, path_of(call, ""), NULL);
	field_line(call, &h,
	    &(struct field){.name = "uses_max",
		.label = "How many may join with it",
		.value = "30",
		.mode = "numeric",
		.small = true});
	field_submit(&h, "Make an invitation", false);
	field_form_end(&h);
	if (l->n_invitations)
		write_table(call, &h);
	frame_answer(call, status, &h);
}

void page_invite(struct call *call)
{
	call->state = NULL;
	load_invitations(call, write_invite);
}

/* ---- made: shown once ---- */

static void write_secret(struct html *h, const char *label, const char *secret)
{
	html_item(h, "h2", label);
	html_open(h, "p", NULL);
	html_open(h, "code", "class", "secret", NULL);
	html_text(h, secret);
	html_close(h, "code");
	html_close(h, "p");
}

static void write_qr(struct call *call, struct html *h, const char *link)
{
	struct text svg;

	text_init(&svg, QR_MAX);
	if (qr_svg(link, "QR code of the link", &svg)) {
		html_open(h, "figure", "class", "drawing code", NULL);
		html_picture(h, &svg);
		html_open(h, "figcaption", NULL);
		html_textf(
		    h, "Point a camera here to join %s", call->workshop.name);
		html_close(h, "figcaption");
		html_close(h, "figure");
	}
	text_free(&svg);
}

static void on_invited(struct call *call, const struct invitation *invitation,
    const char *code, const char *token)
{
	const char *link =
	    call_printf(call, "%s/join/%s", call_origin(call), token);
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = "Your invitation",
		.workshop = &call->workshop,
		.tab = "/invite"});
	html_open(&h, "p", "class", "text", NULL);
	html_textf(&h,
	    "Shown this once: copy the link, or print this page. It ends at "
	    "%s, "
	    "and up to %s may join with it.",
	    say_instant(call, invitation->expires_at),
	    say_count(call, invitation->uses_max, "person", "people"));
	html_close(&h, "p");
	write_secret(&h, "The link", link);
	write_qr(call, &h, link);
	write_secret(&h, "The code, for typing", code);
	html_open(&h, "p", NULL);
	html_textf(&h, "It is typed at %s/join", call_origin(call));
	html_close(&h, "p");
	html_open(&h, "div", "class", "buttons", NULL);
	frame_button(&h, path_of(call, ""), "I have kept it", false);
	html_close(&h, "div");
	frame_answer(call, 201, &h);
}

void page_invite_post(struct call *call)
{
	int64_t uses;

	call->on_fail = page_invite;
	uses =
	    read_number(call, "uses_max", "the number", 1, INVITATION_USES_MAX);
	if (!call_is_faulty(call))
		act_invitation_add(call, NULL, uses, on_invited);
}

static void on_revoked(struct call *call)
{
	call_answer_redirect(call, path_of(call, "?said=revoked"));
}

void page_invite_revoke_post(struct call *call)
{
	act_invitation_revoke(call, on_revoked);
}
