/* SPDX-License-Identifier: MIT */
/*
 * page_join.c - joining a workshop by the link or the code of an invitation.
 *
 * Opening the link only shows what one would join, since chat programs open links too; the
 * button joins.  Afterwards the browser is at a clean address, and signed in.
 */
#include "pages.h"

#include "act_people.h"
#include "act_workshop.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "read.h"
#include "rows.h"
#include "secret.h"
#include "session.h"
#include "say.h"

/* ---- typing a code ---- */

static void write_code(struct call *call, int status)
{
	struct html h;

	frame_begin(call, &h, &(struct frame){.title = "Join with a code"});
	field_form(call, &h, "/join", NULL);
	field_line(call, &h,
	    &(struct field){.name = "code",
		.label = "Code of the invitation",
		.hint = "Capitals, spaces and hyphens do not matter."});
	field_submit(&h, "Go on", false);
	field_form_end(&h);
	frame_answer(call, status, &h);
}

void page_join(struct call *call)
{
	write_code(call, 200);
}

static void code_again(struct call *call)
{
	write_code(call, frame_status_of(call));
}

void page_join_post(struct call *call)
{
	char code[TOKEN_TEXT];

	call->on_fail = code_again;
	if (code_read(form_text(call->form, "code"), code)) {
		call_answer_redirect(call, call_printf(call, "/join/%s", code));
		return;
	}
	call_fault(call, "/code",
	    "It has 13 letters and digits; look at the invitation once more.",
	    "this is no code of an invitation");
	call_is_faulty(call);
}

/* ---- the invitation ---- */

static void write_person(struct call *call, struct html *h)
{
	field_line(call, h,
	    &(struct field){.name = "name",
		.label = "Your name",
		.complete = "name",
		.hint = "As the class knows you."});
	field_line(call, h,
	    &(struct field){.name = "contact",
		.label = "Mail address or telephone number",
		.complete = "email",
		.optional = true,
		.hint = "Only you and the studio's owner see it."});
	field_tick(call, h,
	    &(struct field){.name = "guardian",
		.label =
		    "I am the parent or guardian of a child who takes part"},
	    false);
}

static void write_invitation(struct call *call)
{
	bool known = call->caller.member_id != 0;
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){
		.title = call_printf(call, "Join %s", call->workshop.name),
		.studio = call->caller.studio.name});
	html_open(&h, "dl", "class", "facts", NULL);
	frame_fact(&h, "Studio", call->caller.studio.name);
	frame_fact(&h, "Begins", say_day(call, call->workshop.starts_on));
	frame_fact(
	    &h, "Ask for sheets until", say_closing(call, &call->workshop));
	html_close(&h, "dl");
	field_form(call, &h, call_printf(call, "/join/%s", call->text), NULL);
	if (known) {
		html_open(&h, "p", NULL);
		html_text(&h, "You join as ");
		html_name(&h, call->caller.name);
		html_text(&h, ".");
		html_close(&h, "p");
	} else {
		write_person(call, &h);
	}
	field_submit(&h, "Join", false);
	field_form_end(&h);
	if (!known) {
		html_open(&h, "p", NULL);
		html_text(&h, "Were you here before? Then ");
		html_open(&h, "a", "href", "/signin", NULL);
		html_text(&h, "sign in");
		html_close(&h, "a");
		html_text(&h, " first, and open the invitation again.");
		html_close(&h, "p");
	}
	frame_answer(call, status, &h);
}

static void on_studio(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;

	if (call_failed(call, err))
		return;
	if (n > 0)
		call->caller.studio = row_keep_studio(call->arena, rows);
	write_invitation(call);
}

/* Who is not known sees the times of the studio that invites. */
static void with_invitation(struct call *call)
{
	if (call->caller.member_id != 0)
		write_invitation(call);
	else
		store_studio(
		    call->tx, call->workshop.studio_id, on_studio, call);
}

void page_join_code(struct call *call)
{
	act_invitation_show(call, call->text, with_invitation);
}

/* ---- joining ---- */

struct joining {
	int64_t workshop_id;
};

static void go_there(struct call *call)
{
	const struct joining *j = call->state;

	call_answer_redirect(
	    call, call_printf(call, "/workshops/%lld?said=joined",
		      (long long)j->workshop_id));
}

static void on_joined(struct call *call, const struct joined *joined)
{
	struct joining *j = call_alloc(call, sizeof(*j));

	j->workshop_id = joined->workshop.workshop_id;
	call->state = j;
	if (call->caller.session_id != 0)
		go_there(call);
	else
		session_start(call, joined->member.studio_id,
		    joined->member.member_id, NULL, go_there);
}

void page_join_code_post(struct call *call)
{
	struct join_in in = {
	    .code = call->text,
	    .guardian = field_is_ticked(call, "guardian"),
	};

	call->on_fail = page_join_code;
	if (call->caller.member_id != 0 && !session_form_is_bound(call)) {
		call_fail(call);
		return;
	}
	if (call->caller.member_id == 0) {
		in.name =
		    read_line(call, "name", "your name", true, NAME_MAX_SIGNS);
		in.contact = read_line(
		    call, "contact", "the contact", false, TEXT_MAX_SIGNS);
	}
	if (!call_is_faulty(call))
		act_join(call, &in, on_joined);
}
