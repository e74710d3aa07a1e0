/* SPDX-License-Identifier: MIT */
/*
 * page_sheet.c - the plan to look at, and the tear sheet to work from.
 *
 * Every picture has its list in words beside it: who cannot see the drawing, or has a narrow
 * screen, reads the same strips and pieces there.  A student sees the code of their own pieces
 * only.
 */
#include "pages.h"

#include <string.h>

#include "act_plan.h"
#include "field.h"
#include "frame.h"
#include "picture.h"
#include "sheet.h"
#include "say.h"

#define PICTURE_MAX ((size_t)4 << 20)
#define TEXT_FORM_MAX ((size_t)4 << 20)

static const char *plan_path(struct call *call, const char *more)
{
	return call_printf(
	    call, "/plans/%lld%s", (long long)call->plan.plan_id, more);
}

/* SIZE_MAX: everybody's pieces are shown with their code. */
static size_t only_member(struct call *call, const struct sheet_input *input,
    const int64_t *member_ids)
{
	int64_t me = call_only_member(call);

	for (size_t i = 0; me && i < input->n_members; i++)
		if (member_ids[i] == me)
			return i;
	return me ? input->n_members : SIZE_MAX;
}

static const char *code_of(
    struct call *call, const struct sheet_input *input, size_t member)
{
	char code[SHEET_CODE_MAX];

	if (input->members[member].code)
		return input->members[member].code;
	return call_printf(
	    call, "%s", sheet_code(code, member, input->n_members));
}

/* "A", or what stands for somebody else's piece */
static const char *owner_of(struct call *call, const struct sheet_input *input,
    const struct sheet_paper *paper, size_t piece, size_t only)
{
	size_t member = paper->requests ? paper->requests[piece].member : piece;

	if (only != SIZE_MAX && member != only)
		return "another member's";
	return code_of(call, input, member);
}

/* One entry of a strip's list, told once for pieces alike that follow one another. */
struct told {
	const char *owner;
	length across, along;
	size_t times;
};

static bool is_alike(
    const struct told *t, const char *owner, const struct placed *p)
{
	return t->times > 0 && strcmp(t->owner, owner) == 0 &&
	       t->across == p->across && t->along == p->along;
}

static void tell(
    struct call *call, struct html *h, const struct told *t, bool first)
{
	if (t->times == 0)
		return;
	html_textf(h, "%s%s %s", first ? "" : "; ", t->owner,
	    say_size(call, t->across, t->along));
	if (t->times > 1)
		html_textf(h, " (%zu times)", t->times);
}

static void write_strip(struct call *call, struct html *h,
    const struct sheet_input *input, const struct sheet_paper *paper,
    const struct strip *strip, size_t only)
{
	struct told t = {0};
	bool first = true;

	html_open(h, "li", NULL);
	html_textf(h, "From %s to %s along: ", say_length(call, strip->at),
	    say_length(call, strip->at + strip->height));
	for (size_t i = 0; i < strip->n_segments; i++)
		for (size_t k = 0; k < strip->segments[i].n_pieces; k++) {
			const struct placed *p = &strip->segments[i].pieces[k];
			const char *owner =
			    owner_of(call, input, paper, p->piece, only);

			if (is_alike(&t, owner, p)) {
				t.times++;
				continue;
			}
			tell(call, h, &t, first);
			first = first && t.times == 0;
			t = (struct told){owner, p->across, p->along, 1};
		}
	tell(call, h, &t, first);
	html_close(h, "li");
}

static void write_list(struct call *call, struct html *h,
    const struct sheet_input *input, const struct sheet_paper *paper,
    const struct roll *roll, size_t only)
{
	html_open(h, "details", "open", "", NULL);
	html_item(h, "summary", "The same in words");
	html_open(h, "ol", NULL);
	for (size_t i = 0; i < roll->n_strips; i++)
		write_strip(call, h, input, paper, &roll->strips[i], only);
	html_close(h, "ol");
	html_close(h, "details");
}

static void write_drawing(struct call *call, struct html *h,
    const struct sheet *sheet, size_t paper, size_t roll, size_t only,
    const char *label)
{
	struct text svg;

	text_init(&svg, PICTURE_MAX);
	plan_picture_svg(sheet, paper, roll, only,
	    call_printf(call, "p%zu-%zu-", paper, roll), &svg);
	html_open(h, "section", "class", "drawing roll", "aria-label", label,
	    "tabindex", "0", NULL);
	if (!html_picture(h, &svg))
		html_item(h, "p", "This roll cannot be drawn here.");
	html_close(h, "section");
	text_free(&svg);
}

static void write_roll(struct call *call, struct html *h,
    const struct sheet *sheet, const struct sheet_input *input, size_t p,
    size_t r, size_t only)
{
	const struct sheet_paper *paper = &input->papers[p];
	const struct roll *roll = &paper->plan->rolls[r];
	const char *title = call_printf(call, "%s: %zu of %zu, %s", paper->name,
	    r + 1, paper->plan->n_rolls,
	    say_size(call, roll->width, roll->length));

	html_item(h, "h2", title);
	html_open(h, "div", "class", "picture-and-list", NULL);
	write_drawing(call, h, sheet, p, r, only,
	    call_printf(call, "Drawing of %s", title));
	write_list(call, h, input, paper, roll, only);
	html_close(h, "div");
}

static void write_codes(struct call *call, struct html *h,
    const struct sheet_input *input, size_t only)
{
	if (only != SIZE_MAX && only >= input->n_members)
		return;
	if (only != SIZE_MAX) {
		html_itemf(h, "p", "Your sheets carry the code %s.",
		    code_of(call, input, only));
		return;
	}
	html_item(h, "h2", "Whose code is whose");
	html_open(h, "dl", "class", "facts", NULL);
	for (size_t i = 0; i < input->n_members; i++)
		frame_fact(h, code_of(call, input, i),
		    input->members[i].name ? input->members[i].name : "");
	html_close(h, "dl");
}

static void on_picture(struct call *call, const struct sheet_input *input,
    const int64_t *member_ids)
{
	size_t only = only_member(call, input, member_ids);
	struct sheet *sheet = sheet_new(input);
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = call_printf(call, "Plan %lld as a picture",
				(long long)call->plan.number),
		.workshop = &call->workshop,
		.tab = "/plan"});
	html_open(&h, "p", "class", "text", NULL);
	html_text(&h, "Each roll lies as on the table: its free end at the "
		      "bottom, its left edge at the left.");
	html_close(&h, "p");
	for (size_t p = 0; p < input->n_papers; p++)
		for (size_t r = 0; r < input->papers[p].plan->n_rolls; r++)
			write_roll(call, &h, sheet, input, p, r, only);
	write_codes(call, &h, input, only);
	html_open(&h, "div", "class", "buttons", NULL);
	frame_button(&h, plan_path(call, ""), "Back to the plan", true);
	html_close(&h, "div");
	sheet_delete(sheet);
	frame_answer(call, 200, &h);
}

void page_picture(struct call *call)
{
	struct sheet_wish wish = sheet_wish(call);

	act_plan_sheet(call, &wish, on_picture);
}

/* ---- the tear sheet ---- */

static void write_ways(struct call *call, struct html *h)
{
	static const struct {
		const char *query, *text;
		bool quiet;
	} ways[] = {
	    {"form=pdf&page=a4", "PDF, A4", false},
	    {"form=pdf&page=letter", "PDF, Letter", false},
	    {"form=pdf&large=yes", "PDF, large print", true},
	    {"form=labels", "Labels", true},
	    {"form=text", "Plain text", true},
	    {"form=html", "A page to keep on a telephone", true},
	};

	html_open(h, "div", "class", "buttons", NULL);
	for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++)
		frame_button(h,
		    plan_path(call,
			call_printf(call, "/sheet/file?%s", ways[i].query)),
		    ways[i].text, ways[i].quiet);
	frame_button(h, plan_path(call, "/picture"), "As a picture", true);
	html_close(h, "div");
}

static void on_sheet(struct call *call, const struct sheet_input *input,
    const int64_t *member_ids)
{
	struct sheet *sheet = sheet_new(input);
	struct text text;
	struct html h;

	(void)member_ids;
	text_init(&text, TEXT_FORM_MAX);
	sheet_html(sheet, "s", &text);
	frame_begin(call, &h,
	    &(struct frame){
		.title = call_printf(call, "Tear sheet of plan %lld",
		    (long long)call->plan.number),
		.workshop = &call->workshop,
		.style = "sheet.css",
		.tab = "/plan"});
	write_ways(call, &h);
	html_open(&h, "div", "lang", input->language, NULL);
	if (!html_sheet(&h, &text))
		html_item(&h, "p", "It is too long to be shown: take the PDF.");
	html_close(&h, "div");
	text_free(&text);
	sheet_delete(sheet);
	frame_answer(call, 200, &h);
}

void page_sheet(struct call *call)
{
	struct sheet_wish wish = sheet_wish(call);

	act_plan_sheet(call, &wish, on_sheet);
}
