/* SPDX-License-Identifier: MIT */
/*
 * page_front.c - the first page, help, the files of static/, and the page of what went wrong.
 */
#include "pages.h"

#include <string.h>

#include "assets.h"
#include "call_inner.h"
#include "field.h"
#include "frame.h"
#include "load.h"
#include "page.h"
#include "signin.h"
#include "say.h"

/* ---- the first page ---- */

static void write_workshop(
    struct call *call, struct html *h, const struct workshop_row *w)
{
	html_open(h, "li", NULL);
	html_open(h, "h2", NULL);
	html_open(h, "a", NULL);
	html_attrf(h, "href", "/workshops/%lld", (long long)w->workshop_id);
	html_name(h, w->name);
	html_close(h, "a");
	html_close(h, "h2");
	html_open(h, "p", NULL);
	html_open(h, "span", "class", "state", NULL);
	html_text(h, say_state(w));
	html_close(h, "span");
	html_close(h, "p");
	html_open(h, "dl", "class", "facts", NULL);
	frame_fact(h, "Begins", say_day(call, w->starts_on));
	frame_fact(h, w->takes_requests ? "Ask until" : "Closed on",
	    say_closing(call, w));
	html_close(h, "dl");
	html_close(h, "li");
}

static void write_home(struct call *call)
{
	const struct loaded *l = loaded_of(call);
	struct html h;

	frame_begin(
	    call, &h, &(struct frame){.title = "Workshops", .here = "/"});
	if (l->n_workshops == 0)
		html_item(&h, "p",
		    call_has_role(call, ROLE_INSTRUCTOR | ROLE_OWNER)
			? "There is no workshop yet. First note the papers and "
			  "what they can be bought as, then make a workshop."
			: "You take part in no workshop yet. Open the link or "
			  "type the code of an invitation.");
	else
		html_open(&h, "ul", "class", "cards", NULL);
	for (size_t i = l->n_workshops; i-- > 0;)
		write_workshop(call, &h, &l->workshops[i]);
	if (l->n_workshops)
		html_close(&h, "ul");
	html_open(&h, "div", "class", "buttons", NULL);
	if (call_has_role(call, ROLE_INSTRUCTOR | ROLE_OWNER))
		frame_button(&h, "/workshops/new", "Make a workshop", false);
	frame_button(&h, "/join", "I have an invitation", true);
	html_close(&h, "div");
	frame_answer(call, 200, &h);
}

static void write_welcome(struct call *call)
{
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = "One roll, torn into everybody's sheets",
		.here = "/"});
	html_open(&h, "p", "class", "lead", NULL);
	html_text(&h,
	    "A class shares rolls of watercolour paper: everybody asks for the "
	    "sheets they need, the instructor tears them from as few rolls as "
	    "can be, and everybody pays for the paper they use.");
	html_close(&h, "p");
	html_open(&h, "div", "class", "buttons", NULL);
	frame_button(&h, "/join", "I have an invitation", false);
	frame_button(&h, "/signin", "Sign in with a key", true);
	html_close(&h, "div");
	frame_answer(call, 200, &h);
}

void page_home(struct call *call)
{
	bool all =
	    call_has_role(call, ROLE_INSTRUCTOR | ROLE_TREASURER | ROLE_OWNER);

	if (call->caller.member_id == 0)
		write_welcome(call);
	else
		load_workshops(
		    call, all ? 0 : call->caller.member_id, write_home);
}

/* ---- help ---- */

static const struct {
	const char *question, *answer;
} helps[] = {
    {"Which size do I give?",
	"The size of your picture, across by along as it hangs before you, "
	"each with its unit: 12 1/2 in, 31.7 cm, 320 mm. Fractions are those "
	"of "
	"the ruler: halves, quarters, down to 64ths of an inch."},
    {"What is the tape margin?",
	"The strip on each side under the tape that holds the sheet to its "
	"board. It counts twice in each direction: a picture of 9 x 12 in "
	"with a margin of 1/4 in is torn 9 1/2 x 12 1/2 in."},
    {"What is the torn size?",
	"The picture and its margins, taken up to the next mark of the "
	"studio's ruler. That is what is torn, handed to you, and paid for."},
    {"May my sheets be turned?",
	"If you allow it, a sheet may lie either way on the roll, and the "
	"grain of the paper runs either way in it. That often saves paper. "
	"If the direction of the grain matters to you, do not allow it."},
    {"Until when can I change my mind?",
	"Until the closing time on the page of the workshop; it is given in "
	"the studio's time zone. After it, ask the instructor."},
    {"What will I pay?",
	"The paper is bought whole and its cost is split by the area of "
	"the torn sheets, to the cent. Your share is on the page of the "
	"workshop once the plan is made."},
    {"I lost my key.",
	"Ask the instructor or the studio's owner for a new one. It is shown "
	"once; keep it in a password manager or on paper."},
    {"Somebody else used this device.",
	"Sign out at the foot of any page. Under \"You\" you can end all "
	"your other sign-ins."},
};

void page_help(struct call *call)
{
	struct html h;

	frame_begin(
	    call, &h, &(struct frame){.title = "Help", .here = "/help"});
	html_open(&h, "div", "class", "text", NULL);
	for (size_t i = 0; i < sizeof helps / sizeof helps[0]; i++) {
		html_item(&h, "h2", helps[i].question);
		html_item(&h, "p", helps[i].answer);
	}
	html_item(&h, "h2", "Whom to ask");
	html_item(&h, "p",
	    "The instructor of your workshop, first of all: they see what you "
	    "asked for and can change it for you.");
	html_close(&h, "div");
	frame_answer(call, 200, &h);
}

/* ---- files ---- */

void page_asset(struct call *call)
{
	for (size_t i = 0; i < n_assets; i++) {
		if (strcmp(assets[i].name, call->text) != 0)
			continue;
		/* The address of a file changes with its content. */
		call_field(call, "Cache-Control",
		    "public, max-age=31536000, immutable");
		call_answer(
		    call, 200, assets[i].type, assets[i].bytes, assets[i].len);
		return;
	}
	call_refuse(call, ERR_MISSING, NULL, "there is no such file");
}

/* ---- what went wrong ---- */

static const char *title_of(int status)
{
	switch (status) {
	case 403:
		return "This is not yours to do";
	case 404:
		return "There is no such page";
	case 405:
		return "This page does not take that";
	case 409:
		return "Not possible now";
	case 412:
		return "It has changed in the meantime";
	case 429:
		return "Too much at once";
	case 500:
		return "Something went wrong here";
	case 503:
		return "Not at the moment";
	default:
		return "This cannot be done";
	}
}

static bool has_field(const struct call *call, const char *name)
{
	for (size_t i = 0; i < call->inner->n_fields; i++)
		if (strcmp(call->inner->fields[i].name, name) == 0)
			return true;
	return false;
}

static void write_trouble(struct call *call, int status)
{
	struct html h;
	struct err err = call->err;

	/* Shown as the text of the page, not as errors of a form. */
	err_clear(&call->err);
	call->n_faults = 0;
	frame_begin(call, &h, &(struct frame){.title = title_of(status)});
	html_open(&h, "div", "class", "text", NULL);
	if (status == 500)
		err_set(&err, ERR_INTERNAL,
		    "it is noted in the log of the studio's server");
	html_item(&h, "p", say_sentence(call, err.text));
	if (err.hint[0])
		html_item(&h, "p", err.hint);
	if (status == 404)
		html_item(&h, "p",
		    "Perhaps the address is mistyped, the invitation has "
		    "ended, "
		    "or the page belongs to somebody else.");
	if (status >= 500) {
		html_item(&h, "p",
		    "Nothing was changed. Wait a little, go back, and try "
		    "again.");
		html_itemf(&h, "p", "Report number: %s", http_id(call->req));
	}
	html_close(&h, "div");
	html_open(&h, "div", "class", "buttons", NULL);
	frame_button(&h, "/", "To the first page", true);
	html_close(&h, "div");
	if ((status == 429 || status == 503) && !has_field(call, "Retry-After"))
		call_field(call, "Retry-After", status == 503 ? "2" : "30");
	frame_answer(call, status, &h);
}

void page_refuse(struct call *call, int status)
{
	if (call->err.kind == ERR_UNKNOWN)
		signin_ask(call, status);
	else
		write_trouble(call, status);
}
