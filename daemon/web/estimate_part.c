/* SPDX-License-Identifier: MIT */
/*
 * estimate_part.c - what a request may cost, told while there is time to change it.
 */
#include "estimate_part.h"

#include "field.h"
#include "frame.h"
#include "say.h"

static const struct reckon_row *row_of(
    const struct estimate_view *v, int64_t member_id)
{
	for (size_t i = 0; v->reckoning && i < v->reckoning->n_rows; i++)
		if (v->reckoning->rows[i].member_id == member_id)
			return &v->reckoning->rows[i];
	return NULL;
}

static void write_range(
    struct call *call, struct html *h, const struct reckon_row *row)
{
	html_open(h, "dl", "class", "facts number", NULL);
	frame_fact(
	    h, "All your sheets, if no more come", say_money(call, row->share));
	frame_fact(h, "If the rolls are filled", say_money(call, row->filled));
	if (row->has_alone)
		frame_fact(h, "Bought alone", say_money(call, row->alone));
	html_close(h, "dl");
}

static void write_tip(
    struct call *call, struct html *h, const struct reckon_row *row)
{
	for (size_t i = 0; i < row->n_adds; i++) {
		const struct reckon_add *add = &row->adds[i];

		if (add->request_id != call->request.request_id)
			continue;
		html_open(h, "p", NULL);
		if (add->rolls > 0)
			html_textf(h,
			    "This request tips a new roll: without it the "
			    "class pays %s%s less.",
			    add->proven ? "" : "about ",
			    say_money(call, add->adds));
		else if (add->adds > 0)
			html_textf(h,
			    "This request adds %s%s to what the class pays.",
			    add->proven ? "" : "about ",
			    say_money(call, add->adds));
		else
			html_text(h,
			    "This request fits on the rolls that are needed "
			    "anyway.");
		html_close(h, "p");
	}
}

static void write_hints(
    struct call *call, struct html *h, const struct reckon_row *row)
{
	size_t n = 0;

	for (size_t i = 0; i < row->n_hints; i++) {
		const struct reckon_hint *hint = &row->hints[i];
		length across = 0, along = 0;

		if (hint->request_id != call->request.request_id)
			continue;
		estimate_finished(&call->request, hint, &across, &along);
		if (n++ == 0)
			html_open(h, "ul", NULL);
		html_open(h, "li", NULL);
		html_textf(h,
		    "%s instead of %s: %lld beside each other instead of %lld, "
		    "about %s less each.",
		    say_size(call, across, along),
		    say_size(
			call, call->request.across_u, call->request.along_u),
		    (long long)hint->fits, (long long)hint->fits - 1,
		    say_money(call, hint->each));
		html_close(h, "li");
	}
	if (n > 0)
		html_close(h, "ul");
}

static void write_compared(struct call *call, struct html *h,
    const struct estimate_view *v, const struct paper_row *paper)
{
	json_t *entries =
	    json_loads(paper->compare ? paper->compare : "[]", 0, NULL);
	json_t *entry = NULL;
	size_t i = 0;

	json_array_foreach(entries, i, entry)
	{
		struct compared c;

		if (!reckon_compare(entry, v->requests, v->n_requests,
			call->request.member_id, paper->paper_id, &c))
			continue;
		html_open(h, "p", NULL);
		html_text(h, "The same sheets as ");
		html_name(h, c.name);
		html_textf(h, ", %lld of them: %s.", (long long)c.packs,
		    say_money(call, c.cost));
		html_close(h, "p");
	}
	json_decref(entries);
}

static void write_state(
    struct call *call, struct html *h, const struct estimate_view *v)
{
	const char *text = NULL;

	if (v->state == ESTIMATE_WORKING)
		text = "It is being reckoned. Look again in a few seconds.";
	else if (v->state == ESTIMATE_FAILED)
		text = "It cannot be reckoned: some paper cannot be planned.";
	else if (v->state == ESTIMATE_READY && !v->current)
		text = "Requests have changed since this was reckoned.";
	if (text) {
		html_open(h, "p", "class", "note", NULL);
		html_text(h, text);
		html_close(h, "p");
	}
	if (v->state == ESTIMATE_WORKING)
		return;
	if (v->state != ESTIMATE_READY || !v->current)
		field_button(call, h,
		    call_printf(call, "/requests/%lld/estimate",
			(long long)call->request.request_id),
		    NULL, "Reckon what it may cost", true);
}

void estimate_write(
    struct call *call, struct html *h, const struct estimate_view *v)
{
	const struct reckon_row *row = row_of(v, call->request.member_id);

	html_item(h, "h2", "What it may cost");
	if (row) {
		write_range(call, h, row);
		write_tip(call, h, row);
		write_hints(call, h, row);
		for (size_t i = 0; i < v->n_papers; i++)
			if (v->papers[i].paper_id == call->request.paper_id)
				write_compared(call, h, v, &v->papers[i]);
		html_open(h, "p", NULL);
		html_text(
		    h, "At the prices of the paper, without shipping and tax.");
		html_close(h, "p");
	}
	write_state(call, h, v);
}
