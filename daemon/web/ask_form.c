/* SPDX-License-Identifier: MIT */
/*
 * ask_form.c - asking for sheets, in fields.
 *
 * A member who asks again finds paper, size and margin of the last request in the fields
 * (WCAG 3.3.7); the count stays empty, so that nothing is asked for twice by a slip.
 */
#include "ask_form.h"

#include <string.h>

#include "field.h"
#include "form.h"
#include "frame.h"
#include "load.h"
#include "picture.h"
#include "read.h"
#include "say.h"

#define PICTURE_MAX ((size_t)256 << 10)

static const char *number_text(struct call *call, int64_t n)
{
	return call_printf(call, "%lld", (long long)n);
}

static void write_papers(
    struct call *call, struct html *h, const struct request_row *before)
{
	const struct loaded *l = loaded_of(call);
	struct choice *choices =
	    arena_array(call->arena, l->n_papers + 1, sizeof(*choices));
	size_t n = 0;

	for (size_t i = 0; i < l->n_papers; i++) {
		const struct paper_row *p = &l->papers[i];

		if (workshop_has_paper(&call->workshop, p->paper_id))
			choices[n++] = (struct choice){
			    number_text(call, p->paper_id), p->name};
	}
	field_choose(call, h,
	    &(struct field){.name = "paper_id",
		.label = "Paper",
		.value = before ? number_text(call, before->paper_id) : NULL},
	    choices, n);
}

static const char *example(const struct call *call, bool margin)
{
	bool inches = call->caller.studio.measure == MEASURE_INCH;

	if (margin)
		return inches ? "Under the tape, on each side. For example 1/4 "
				"in, or 0 in."
			      : "Under the tape, on each side. For example 6 "
				"mm, or 0 mm.";
	return inches ? "With its unit, for example 12 1/2 in or 31.7 cm."
		      : "With its unit, for example 31.7 cm or 12 1/2 in.";
}

void ask_write_fields(struct call *call, struct html *h,
    const struct request_row *before, bool whole)
{
	bool inches = call->caller.studio.measure == MEASURE_INCH;

	write_papers(call, h, before);
	field_line(call, h,
	    &(struct field){.name = "count",
		.label = "How many sheets",
		.value = whole ? number_text(call, before->count) : NULL,
		.mode = "numeric",
		.small = true});
	html_open(h, "fieldset", NULL);
	html_item(h, "legend", "Size of the picture, without the margin");
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "across",
		.label = "Across",
		.hint = example(call, false),
		.value = before ? before->across_text : NULL});
	field_line(call, h,
	    &(struct field){.name = "along",
		.label = "Along",
		.hint = "The other way, with its unit too.",
		.value = before ? before->along_text : NULL});
	html_close(h, "div");
	html_close(h, "fieldset");
	field_line(call, h,
	    &(struct field){.name = "margin",
		.label = "Tape margin",
		.hint = example(call, true),
		.value = before   ? before->margin_text
			 : inches ? "0 in"
				  : "0 mm",
		.small = true});
	field_tick(call, h,
	    &(struct field){.name = "turn",
		.label = "My sheets may lie either way on the roll",
		.hint = "Saves paper; the grain may run either way then."},
	    before && before->turn);
	field_line(call, h,
	    &(struct field){.name = "note",
		.label = "Note to the instructor",
		.value = whole ? before->note : NULL,
		.optional = true});
}

void ask_write_member(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);
	struct choice *choices =
	    arena_array(call->arena, l->n_members + 1, sizeof(*choices));

	for (size_t i = 0; i < l->n_members; i++)
		choices[i] =
		    (struct choice){number_text(call, l->members[i].member_id),
			l->members[i].name};
	field_choose(call, h,
	    &(struct field){.name = "member_id",
		.label = "For whom",
		.hint = "Whoever takes part in this workshop.",
		.value = number_text(call, call->caller.member_id)},
	    choices, l->n_members);
}

/* ---- reading ---- */

static bool read_count(struct call *call, struct ask *ask)
{
	const char *text = form_text(call->form, "count");

	ask->count = form_number(call->form, "count", -1);
	if (ask->count >= 0)
		return true;
	return *text ? call_fault(call, "/count", "Give a whole number, as 10.",
			   "\"%.40s\" is no number of sheets", text)
		     : call_fault(call, "/count", "Give a whole number, as 10.",
			   "how many sheets is missing");
}

bool ask_read(struct call *call, struct ask *ask)
{
	const struct form *form = call->form;

	ask->member_id = form_number(form, "member_id", 0);
	ask->paper_id = form_number(form, "paper_id", 0);
	ask->across_text = form_text(form, "across");
	ask->along_text = form_text(form, "along");
	ask->margin_text = form_text(form, "margin");
	ask->turn = field_is_ticked(call, "turn");
	ask->note = read_line(call, "note", "the note", false, NOTE_MAX);
	if (ask->paper_id == 0)
		call_fault(call, "/paper_id", "Choose one of the list.",
		    "the paper is missing");
	read_count(call, ask);
	ask_size(call, "/across", ask->across_text, false, &ask->across_u);
	ask_size(call, "/along", ask->along_text, false, &ask->along_u);
	if (*ask->margin_text)
		ask_size(
		    call, "/margin", ask->margin_text, true, &ask->margin_u);
	else
		ask->margin_text = call->caller.studio.measure == MEASURE_INCH
				       ? "0 in"
				       : "0 mm";
	return call->n_faults == 0;
}

bool ask_preview(
    struct call *call, const struct ask *ask, struct request_row *row)
{
	length ruler = call->caller.studio.ruler_u;
	const struct paper_row *paper =
	    loaded_paper(loaded_of(call), ask->paper_id);

	*row = (struct request_row){
	    .paper_id = ask->paper_id,
	    .paper_name = paper ? paper->name : "",
	    .count = ask->count,
	    .across_u = ask->across_u,
	    .along_u = ask->along_u,
	    .margin_u = ask->margin_u,
	    .turn = ask->turn,
	    .note = "",
	};
	ask_torn_size(ask->across_u, ask->margin_u, ruler, &row->torn_across_u);
	ask_torn_size(ask->along_u, ask->margin_u, ruler, &row->torn_along_u);
	return true;
}

/* ---- showing ---- */

bool ask_is_snapped(const struct request_row *r)
{
	return r->torn_across_u != r->across_u + 2 * r->margin_u ||
	       r->torn_along_u != r->along_u + 2 * r->margin_u;
}

void ask_write_facts(
    struct call *call, struct html *h, const struct request_row *r)
{
	html_open(h, "dl", "class", "facts", NULL);
	html_item(h, "dt", "Torn size");
	html_open(h, "dd", "class", "size", NULL);
	html_text(h, say_size(call, r->torn_across_u, r->torn_along_u));
	html_close(h, "dd");
	frame_fact(h, "Picture", say_size(call, r->across_u, r->along_u));
	frame_fact(h, "Tape margin",
	    r->margin_u ? call_printf(call, "%s on each side",
			      say_length(call, r->margin_u))
			: "none");
	frame_fact(h, "On the roll",
	    r->turn ? "may lie either way" : "as asked, not turned");
	if (*r->note)
		frame_fact(h, "Note", r->note);
	html_close(h, "dl");
	if (ask_is_snapped(r)) {
		html_open(h, "p", "class", "note", NULL);
		html_textf(h,
		    "Picture and margins come to %s. Torn sizes lie on the "
		    "marks of the ruler, %s apart, so the sheet is torn a "
		    "little larger.",
		    say_size(call, r->across_u + 2 * r->margin_u,
			r->along_u + 2 * r->margin_u),
		    say_length(call, call->caller.studio.ruler_u));
		html_close(h, "p");
	}
}

void ask_write_picture(struct call *call, struct html *h,
    const struct request_row *r, const char *id)
{
	struct text svg;

	text_init(&svg, PICTURE_MAX);
	piece_picture_svg(r->torn_across_u, r->torn_along_u, r->across_u,
	    r->along_u, (enum measure_system)call->caller.studio.measure, id,
	    &svg);
	html_open(h, "figure", "class", "drawing piece", NULL);
	html_picture(h, &svg);
	html_close(h, "figure");
	text_free(&svg);
}
