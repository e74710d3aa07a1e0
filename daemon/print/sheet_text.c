/* SPDX-License-Identifier: MIT */
/*
 * sheet_text.c - the tear sheet in 80 columns, for a terminal, a line printer, or a lone
 * painter with a roll and a list of sizes.
 *
 * One step a line: the box, the number, the mark, its edge, whose, what.  A test reads these
 * lines back and tears a blank roll by them, so nothing that matters may be left out.
 * Our own words are ASCII; names stand last on their line, so that a script that runs from
 * right to left cannot carry a number with it.
 */
#include <string.h>

#include "screen.h"
#include "notes.h"
#include "catalogue.h"

struct page {
	const struct sheet *sheet;
	struct text *out;
	struct arena *arena; /* for phrases; dies with the page */
};

static void line(struct page *p, const char *s)
{
	screen_wrap(p->out, "", 0, s);
}

static void rule(struct page *p, char c)
{
	for (int i = 0; i < SCREEN_COLUMNS; i++)
		text_add_char(p->out, c);
	text_add_char(p->out, '\n');
}

static void heading(struct page *p, const char *s)
{
	text_add_char(p->out, '\n');
	line(p, s);
	for (size_t n = screen_width(s); n > 0; n--)
		text_add_char(p->out, '-');
	text_add_char(p->out, '\n');
}

static void print_notes(struct page *p, const struct notes *notes)
{
	for (size_t i = 0; i < notes->n; i++) {
		enum note_kind kind = notes->notes[i].kind;
		screen_wrap(p->out,
		    kind == NOTE_BOX || kind == NOTE_BOLD ? "[ ] " : "    ", 4,
		    notes->notes[i].text);
	}
}

static bool is_set(const char *s)
{
	return s && *s;
}

static const char *plan_name(struct page *p)
{
	const struct sheet *sheet = p->sheet;

	return sheet->input->number
		   ? arena_printf(p->arena, _("plan %lld, check %s"),
			 (long long)sheet->input->number, sheet->check)
		   : arena_printf(p->arena, _("check %s"), sheet->check);
}

static void title_line(struct page *p, const char *left, const char *right)
{
	size_t width = screen_width(right);

	screen_pad(p->out, left, SCREEN_COLUMNS - width - 2);
	text_addf(p->out, "  %s\n", right);
}

static void dated(struct page *p, const char *fmt, const char *value)
{
	if (is_set(value))
		text_addf(p->out, "%s: %s\n", fmt, value);
}

static void title(struct page *p)
{
	const struct sheet_input *input = p->sheet->input;

	rule(p, '=');
	title_line(p, _("TEAR SHEET"), plan_name(p));
	if (is_set(input->workshop))
		line(p, input->workshop);
	if (is_set(input->studio))
		line(p, input->studio);
	dated(p, _("Requests closed"), input->closing);
	dated(p, _("Tear on"), input->tear_on);
	dated(p, _("Lies flat on"), input->flat_on);
	rule(p, '=');
	if (input->superseded)
		line(p, _("SUPERSEDED: a newer plan exists. Do not tear from "
			  "this sheet."));
}

/* --- a strip as a line of boxes, to scale -------------------------------------------- */

#define BAR 62 /* columns of a strip that is as wide as its roll */

static size_t bar_column(const struct sheet_roll *roll, length at)
{
	return (size_t)((at * BAR + roll->roll->width / 2) / roll->roll->width);
}

static const char *bar_codes(struct page *p, const struct sheet_roll *roll,
    const struct segment *segment)
{
	const char *codes = "";

	for (size_t k = 0; k < segment->n_pieces; k++) {
		size_t member = sheet_owner(
		    p->sheet, roll->paper, segment->pieces[k].piece);
		codes = arena_printf(p->arena, "%s%s%s", codes, k ? "/" : "",
		    p->sheet->hands[member].code);
	}
	return codes;
}

/* One field of the bar from column `from` to `to`, filled or with a text in its middle. */
static void bar_field(
    struct page *p, size_t from, size_t to, const char *s, char fill)
{
	size_t room = to > from + 1 ? to - from - 1 : 0;
	size_t width = screen_width(s), left;

	if (width > room) {
		s = room > 0 ? "*" : "";
		width = room > 0;
	}
	left = (room - width) / 2;
	for (size_t i = 0; i < left; i++)
		text_add_char(p->out, fill);
	text_add(p->out, s);
	for (size_t i = left + width; i < room; i++)
		text_add_char(p->out, fill);
	if (to > from)
		text_add_char(p->out, '|');
}

static void bar(struct page *p, const struct sheet_roll *roll, size_t number)
{
	const struct strip *strip = &roll->roll->strips[number - 1];
	size_t done = 0;

	screen_pad(
	    p->out, arena_printf(p->arena, _("  strip %zu"), number), 14);
	text_add_char(p->out, '|');
	for (size_t i = 0; i < strip->n_segments; i++) {
		const struct segment *segment = &strip->segments[i];
		size_t from = bar_column(roll, segment->at);
		size_t to = bar_column(roll, segment->at + segment->width);
		bar_field(p, done, from, "", '/');
		bar_field(p, from, to, bar_codes(p, roll, segment), ' ');
		done = to;
	}
	bar_field(p, done, BAR, "", '/');
	text_add_char(p->out, '\n');
}

/* --- steps ---------------------------------------------------------------------------- */

static const char *mark_column(struct page *p, const struct step *step)
{
	char buf[LENGTH_TEXT_MAX];

	if (step->number == 0)
		return _("the rest");
	mark_print(buf, step->mark, &p->sheet->ruler);
	return arena_strdup(p->arena, buf);
}

/* The ticks of a step that stands for several strips, as many a line as fit. */
static void tick_lines(struct page *p, const struct step *step)
{
	size_t used = SCREEN_COLUMNS;

	for (size_t i = 0; i < step->n_ticks; i++) {
		const struct tick *tick = &step->ticks[i];
		const char *who = phrase_tick(p->sheet, tick);
		const char *s = arena_printf(p->arena, _("[ ] strip %zu%s%s"),
		    tick->strip, *who ? ": " : "", who);
		size_t width = screen_width(s) < 18 ? 18 : screen_width(s) + 2;
		if (used + width > SCREEN_COLUMNS) {
			text_add(p->out, i > 0 ? "\n        " : "        ");
			used = 8;
		}
		if (i + 1 < step->n_ticks && used + 2 * width <= SCREEN_COLUMNS)
			screen_pad(p->out, s, width);
		else
			text_add(p->out, s);
		used += width;
	}
	text_add_char(p->out, '\n');
}

#define STEP_WHAT 38 /* column at which whose and what begin */

/* "[ ]   12   9 1/2 in       from left   ": box, number, mark, edge. */
static void step_lead(
    struct page *p, const struct step *step, struct text *lead)
{
	bool box =
	    step->n_ticks == 1 && (step->number > 0 || step->off != OFF_WASTE);

	text_add(lead, box ? "[ ] " : "    ");
	if (step->number > 0)
		text_addf(lead, "%4lld  ", (long long)step->number);
	else
		text_add(lead, "   -  ");
	screen_pad(lead, mark_column(p, step), 15);
	text_add_char(lead, ' ');
	if (step->number > 0)
		screen_pad(lead,
		    arena_printf(p->arena, _("from %s"), phrase_edge(step)),
		    STEP_WHAT - 28);
	else
		screen_pad(lead, _("no tear"), STEP_WHAT - 28);
	screen_pad(lead, "", 2);
}

static void print_step(
    struct page *p, const struct group *group, const struct step *step)
{
	bool one = step->n_ticks == 1;
	const char *who = one ? phrase_tick(p->sheet, step->ticks) : "";
	const char *off = phrase_off(p->sheet, step, "x", p->arena);
	struct text lead;

	text_init(&lead, 1 << 10);
	step_lead(p, step, &lead);
	if (one && group->first != group->last && step->ticks[0].strip > 0)
		off = arena_printf(
		    p->arena, _("%s (strip %zu)"), off, step->ticks[0].strip);
	if (*who)
		off = arena_printf(p->arena, "%s  %s", who, off);
	screen_wrap(p->out, lead.data, STEP_WHAT, off);
	text_free(&lead);
	const char *remark =
	    step->number > 0 ? phrase_mark(p->sheet, step, p->arena) : NULL;
	if (remark)
		screen_wrap(p->out, "          ^ ", 12, remark);
	if (!one && (step->number > 0 || step->off != OFF_WASTE))
		tick_lines(p, step);
}

static void print_group(
    struct page *p, const struct sheet_roll *roll, const struct group *group)
{
	struct notes notes = {0};
	const struct step *before = NULL;

	heading(p, phrase_heading(p->sheet, roll, group, p->arena));
	for (size_t i = group->first; i <= group->last; i++)
		bar(p, roll, i);
	notes_group(p->sheet, roll, group, p->arena, &notes);
	print_notes(p, &notes);
	for (size_t i = 0; i < group->n_steps; i++) {
		const struct step *step = &group->steps[i];
		if (phrase_from_changes(before, step))
			text_addf(p->out, "  %s\n",
			    phrase_from(group, step, p->arena));
		print_step(p, group, step);
		before = step;
	}
}

static void print_roll(struct page *p, const struct sheet_roll *roll)
{
	const struct sheet_paper *paper = &p->sheet->input->papers[roll->paper];
	struct notes notes = {0};

	text_add_char(p->out, '\n');
	rule(p, '=');
	title_line(p,
	    arena_printf(p->arena,
		roll->stock->flat ? _("SHEET %zu of %zu: %s")
				  : _("ROLL %zu of %zu: %s"),
		roll->number, p->sheet->n_rolls, paper->name),
	    plan_name(p));
	line(
	    p, arena_printf(p->arena, _("%s, %s (across x along)"), roll->label,
		   phrase_roll_size(p->sheet, roll, "x", p->arena)));
	rule(p, '=');
	notes_roll(p->sheet, roll, p->arena, &notes);
	print_notes(p, &notes);
	for (size_t i = 0; i < roll->n_groups; i++)
		print_group(p, roll, &roll->groups[i]);
}

/* --- after the tears -------------------------------------------------------------------- */

static void print_pick(struct page *p, const struct pick *pick)
{
	const char *picture = phrase_picture(p->sheet, pick, "x", p->arena);

	if (pick->count > 0)
		screen_wrap(p->out, "      [ ] ", 10,
		    phrase_pick(p->sheet, pick, "x", p->arena));
	if (pick->count > 0 && picture)
		screen_wrap(p->out, "          ", 10, picture);
	if (pick->missing > 0)
		screen_wrap(p->out, "          ", 10,
		    phrase_missing(p->sheet, pick, "x", p->arena));
}

static void print_hands(struct page *p)
{
	heading(p, _("Pick list: what each one gets"));
	for (size_t i = 0; i < p->sheet->n_hands; i++) {
		const struct sheet_hand *hand = &p->sheet->hands[i];
		if (hand->n_picks == 0)
			continue;
		text_add(p->out, "[ ] ");
		screen_pad(p->out, hand->code, 6);
		screen_pad(p->out,
		    arena_printf(p->arena,
			hand->count == 1 ? _("%lld piece") : _("%lld pieces"),
			(long long)hand->count),
		    13);
		screen_add(p->out, hand->name, SCREEN_COLUMNS - 23);
		text_add_char(p->out, '\n');
		for (size_t k = 0; k < hand->n_picks; k++)
			print_pick(p, &hand->picks[k]);
	}
}

static void print_shelf(struct page *p)
{
	if (p->sheet->n_shelf == 0)
		return;
	heading(p, _("Back on the shelf: write the code on it"));
	for (size_t i = 0; i < p->sheet->n_shelf; i++) {
		const struct shelf *item = &p->sheet->shelf[i];
		screen_wrap(p->out, "[ ] ", 8,
		    arena_printf(p->arena, "%s  %s", item->code,
			phrase_shelf(p->sheet, item, "x", p->arena)));
	}
}

static void print_section(struct page *p, const char *name,
    void (*fill)(const struct sheet *, struct arena *, struct notes *))
{
	struct notes notes = {0};

	heading(p, name);
	fill(p->sheet, p->arena, &notes);
	print_notes(p, &notes);
}

void sheet_text(const struct sheet *sheet, struct text *out)
{
	struct page page = {
	    .sheet = sheet, .out = out, .arena = arena_new((size_t)1 << 31)};

	catalogue_use(sheet->input->language);
	title(&page);
	print_section(
	    &page, _("Take off the shelf and lay ready"), notes_before);
	print_section(&page, _("Measure before the first tear"), notes_measure);
	print_section(&page, _("How to mark and tear"), notes_method);
	print_section(&page, _("Take care"), notes_cautions);
	for (size_t i = 0; i < sheet->n_rolls; i++)
		print_roll(&page, &sheet->rolls[i]);
	text_add_char(out, '\n');
	rule(&page, '=');
	title_line(&page, _("AFTER THE LAST TEAR"), plan_name(&page));
	rule(&page, '=');
	print_hands(&page);
	print_shelf(&page);
	print_section(&page, _("Flattening"), notes_after);
	print_section(&page, _("To take home"), notes_care);
	arena_delete(page.arena);
}
