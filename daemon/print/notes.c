/* SPDX-License-Identifier: MIT */
/*
 * notes.c - the sentences of a tear sheet.
 *
 * Short, in the order of the hands, one thing each.  The cautions are the trade's usual
 * ones and give way to the studio's own and to local rules; they promise nothing.
 */
#include "notes.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "catalogue.h"

void notes_add(struct notes *out, struct arena *arena, enum note_kind kind,
    const char *fmt, ...)
{
	char buf[2048];
	va_list args;

	va_start(args, fmt);
	vsnprintf(buf, sizeof(buf), fmt, args);
	va_end(args);
	if (out->n == out->room) {
		size_t room = out->room ? 2 * out->room : 16;
		struct note *more = arena_array(arena, room, sizeof(*more));
		if (out->n > 0)
			memcpy(more, out->notes, out->n * sizeof(*more));
		out->notes = more;
		out->room = room;
	}
	out->notes[out->n++] =
	    (struct note){.kind = kind, .text = arena_strdup(arena, buf)};
}

static bool is_set(const char *s)
{
	return s && *s;
}

const char *notes_mark(const struct sheet *sheet, struct arena *arena, length l)
{
	char buf[LENGTH_TEXT_MAX];
	mark_print(buf, l, &sheet->ruler);
	return arena_strdup(arena, buf);
}

static const char *kilograms(struct arena *arena, int64_t grams)
{
	if (grams < 1000)
		return arena_printf(arena, _("%lld g"), (long long)grams);
	return arena_printf(arena, _("%lld.%lld kg"),
	    (long long)((grams + 50) / 1000),
	    (long long)((grams + 50) / 100 % 10));
}

static int64_t roll_grams(
    const struct sheet *sheet, const struct sheet_roll *roll)
{
	return weight_grams(roll->roll->width, roll->roll->length,
	    sheet->input->papers[roll->paper].grams);
}

/* What is known of like rolls beside their size: weight, place, lot. */
static const char *about_take(const struct sheet *sheet,
    const struct take *take, const struct sheet_roll *roll, struct arena *arena)
{
	int64_t grams = roll_grams(sheet, roll);
	const char *s = "";

	if (grams > 0)
		s = arena_printf(arena,
		    take->count > 1 ? _("about %s each") : _("about %s"),
		    kilograms(arena, grams));
	if (is_set(roll->place))
		s = arena_printf(
		    arena, _("%s%splace: %s"), s, *s ? "; " : "", roll->place);
	if (is_set(roll->lot))
		s = arena_printf(
		    arena, _("%s%slot: %s"), s, *s ? "; " : "", roll->lot);
	return s;
}

static void note_take(const struct sheet *sheet, const struct take *take,
    struct arena *arena, struct notes *out)
{
	const struct sheet_roll *roll = &sheet->rolls[take->first_roll - 1];
	const char *about = about_take(sheet, take, roll, arena);

	notes_add(out, arena, NOTE_BOX, "%lld x %s, %s, %s",
	    (long long)take->count, sheet->input->papers[take->paper].name,
	    roll->label,
	    phrase_size(
		sheet, roll->stock->width, roll->stock->length, "x", arena));
	if (*about)
		notes_add(out, arena, NOTE_UNDER, "%s", about);
}

static length longest_tear(const struct sheet *sheet)
{
	length longest = 0;
	for (size_t i = 0; i < sheet->n_rolls; i++) {
		if (sheet->rolls[i].roll->width > longest)
			longest = sheet->rolls[i].roll->width;
	}
	return longest;
}

void notes_before(
    const struct sheet *sheet, struct arena *arena, struct notes *out)
{
	for (size_t i = 0; i < sheet->n_takes; i++)
		note_take(sheet, &sheet->takes[i], arena, out);
	notes_add(out, arena, NOTE_BOX,
	    _("A square with an arm longer than %s, or a square and a long "
	      "straightedge to carry its line on."),
	    notes_mark(sheet, arena, longest_tear(sheet)));
	notes_add(out, arena, NOTE_BOX,
	    _("A straightedge to tear along, a ruler with lines of %s, a soft "
	      "pencil, weights, a board."),
	    notes_mark(sheet, arena, sheet->ruler.step));
	notes_add(out, arena, NOTE_BOX,
	    _("Table cleared and clean, hands clean and dry."));
}

static bool has_flat(const struct sheet *sheet)
{
	for (size_t i = 0; i < sheet->n_rolls; i++) {
		if (sheet->rolls[i].stock->flat)
			return true;
	}
	return false;
}

void notes_method(
    const struct sheet *sheet, struct arena *arena, struct notes *out)
{
	const struct sheet_input *input = sheet->input;

	notes_add(out, arena, NOTE_LINE,
	    _("Stand at the free end of the roll; the roll lies away from you. "
	      "The free end is the "
	      "NEAR edge, the edge at your left hand is the LEFT edge. Keep "
	      "every strip lying "
	      "that way."));
	notes_add(out, arena, NOTE_LINE,
	    _("The grain runs along the roll, away from you; a turned piece "
	      "has it from left to right."));
	if (has_flat(sheet))
		notes_add(out, arena, NOTE_LINE,
		    _("A flat sheet lies the same way: NEAR is the edge before "
		      "you."));
	if (is_set(input->side_up))
		notes_add(out, arena, NOTE_LINE,
		    _("Paper: %s. Turn pieces flat on the table, never over."),
		    input->side_up);
	else
		notes_add(out, arena, NOTE_LINE,
		    _("One same side up for all, as the studio decides. Turn "
		      "pieces flat on the "
		      "table, never over."));
	notes_add(out, arena, NOTE_LINE,
	    _("Lay the square along the left edge of the roll. If the free end "
	      "is not square to "
	      "it, tear it square first and measure from there."));
	notes_add(out, arena, NOTE_LINE,
	    _("Every mark is a running total from the edge that is named, "
	      "never from the last "
	      "mark. Set all the marks of a strip before its first tear, on "
	      "both sides of each "
	      "tear and at the aiming marks between."));
	notes_add(out, arena, NOTE_LINE, "%s",
	    input->pull == PULL_FAR
		? _("Straightedge: lay it before the marks, on what comes "
		    "off, so that you see the marks along its edge. Press it "
		    "down. Pull what stays up against the edge, slowly.")
		: _("Straightedge: lay it beyond the marks, on what stays, "
		    "so that you see the marks along its edge. Press it "
		    "down. Pull what comes off up against the edge, "
		    "slowly."));
	notes_add(out, arena, NOTE_LINE,
	    _("As soon as a piece is off, write its code lightly on the back "
	      "in a corner that the "
	      "tape will cover, and underline it so that up is up."));
}

static int64_t heaviest(const struct sheet *sheet)
{
	int64_t most = 0;
	for (size_t i = 0; i < sheet->n_rolls; i++) {
		int64_t grams = roll_grams(sheet, &sheet->rolls[i]);
		if (!sheet->rolls[i].stock->flat && grams > most)
			most = grams;
	}
	return most;
}

void notes_cautions(
    const struct sheet *sheet, struct arena *arena, struct notes *out)
{
	int64_t grams = heaviest(sheet);

	notes_add(out, arena, NOTE_LINE,
	    _("The studio's own rules and local rules come first; where they "
	      "say otherwise, "
	      "follow them."));
	if (is_set(sheet->input->rules))
		notes_add(
		    out, arena, NOTE_LINE, _("Here: %s"), sheet->input->rules);
	notes_add(out, arena, NOTE_LINE,
	    _("A metal straightedge has sharp edges and corners: hold it well "
	      "back from the edge "
	      "you tear along. Paper edges cut too."));
	if (grams > 0)
		notes_add(out, arena, NOTE_LINE,
		    _("The heaviest roll weighs about %s, core and wrapping "
		      "not counted. Two carry "
		      "a long one, above all on stairs."),
		    kilograms(arena, grams));
	else
		notes_add(out, arena, NOTE_LINE,
		    _("Two carry a long roll, above all on stairs."));
	notes_add(out, arena, NOTE_LINE,
	    _("Weights: several small ones rather than one heavy, put down "
	      "flat, away from the "
	      "table's edge, feet clear."));
	notes_add(out, arena, NOTE_LINE,
	    _("Paper on the floor is slippery: pick up as you go. Good light "
	      "on the marks."));
	notes_add(out, arena, NOTE_LINE,
	    _("With children: an adult at the table, and the school's or "
	      "studio's own "
	      "assessment."));
}

/* How to lay the straightedge for a tear this long; what: which tears these are. */
static void note_aim(const struct sheet *sheet, const char *what, length tear,
    const char *edge, struct arena *arena, struct notes *out)
{
	struct aim aim =
	    aim_for(tear, sheet->input->straightedge, sheet->input->system);
	char list[512] = "";
	size_t len = 0;

	if (aim.spacing == 0)
		return;
	for (length at = aim.spacing;
	     at < tear && len < sizeof(list) - LENGTH_TEXT_MAX;
	     at += aim.spacing)
		len += (size_t)snprintf(list + len, sizeof(list) - len, "%s%s",
		    len ? ", " : "", notes_mark(sheet, arena, at));
	if (aim.placements > 1)
		notes_add(out, arena, NOTE_LINE,
		    _("%s (%s): lay the straightedge %lld times, part of it "
		      "over the torn line; "
		      "aiming marks at both edges and at %s from the %s."),
		    what, notes_mark(sheet, arena, tear),
		    (long long)aim.placements, list, edge);
	else
		notes_add(out, arena, NOTE_LINE,
		    _("%s (%s): aiming marks at both edges and at %s from the "
		      "%s."),
		    what, notes_mark(sheet, arena, tear), list, edge);
}

/* False for a sheet that is one strip as it lies. */
static bool has_strip_tear(const struct sheet_roll *roll)
{
	for (size_t i = 0; i < roll->n_groups; i++) {
		if (roll->groups[i].steps[0].number > 0)
			return true;
	}
	return false;
}

/* Strips from index `from` that lie on the table together; returns the index after the last. */
static size_t on_table(const struct roll *roll, size_t from, length table)
{
	size_t i = from + 1;

	while (i < roll->n_strips &&
	       roll->strips[i].at ==
		   roll->strips[i - 1].at + roll->strips[i - 1].height &&
	       roll->strips[i].at + roll->strips[i].height -
		       roll->strips[from].at <=
		   table)
		i++;
	return i;
}

/* Running totals over strips that are marked together, before the first of them is torn. */
static void note_table(const struct sheet *sheet, const struct roll *roll,
    struct arena *arena, struct notes *out)
{
	length table = sheet->input->table;
	bool told = false;

	for (size_t i = 0, end; table > 0 && i < roll->n_strips; i = end) {
		const char *list = "";
		end = on_table(roll, i, table);
		if (end - i < 2)
			continue;
		for (size_t k = i; k < end; k++)
			list = arena_printf(arena, "%s%s%s", list,
			    *list ? ", " : "",
			    notes_mark(sheet, arena,
				roll->strips[k].at + roll->strips[k].height -
				    roll->strips[i].at));
		if (!told)
			notes_add(out, arena, NOTE_LINE,
			    _("The table takes %s. Mark these strips together, "
			      "all from the one near edge:"),
			    notes_mark(sheet, arena, table));
		told = true;
		notes_add(out, arena, NOTE_UNDER, _("strips %zu-%zu at %s"),
		    i + 1, end, list);
	}
}

void notes_roll(const struct sheet *sheet, const struct sheet_roll *roll,
    struct arena *arena, struct notes *out)
{
	if (roll->roll->quarter)
		notes_add(out, arena, NOTE_LINE,
		    _("Lay it a quarter turn round: %s across, %s away from "
		      "you. The grain then "
		      "runs from left to right."),
		    notes_mark(sheet, arena, roll->roll->width),
		    notes_mark(sheet, arena, roll->roll->length));
	if (roll->roll->n_strips > 0)
		notes_add(out, arena, NOTE_BOLD,
		    _("Measured: at least %s across, at least %s along."),
		    notes_mark(sheet, arena, roll->need_width),
		    notes_mark(sheet, arena, roll->need_length));
	for (size_t i = 0; i < roll->stock->n_spoiled; i++)
		notes_add(out, arena, NOTE_LINE,
		    _("Spoiled from %s to %s: the plan goes round it."),
		    notes_mark(sheet, arena, roll->stock->spoiled[i].from),
		    notes_mark(sheet, arena, roll->stock->spoiled[i].to));
	if (has_strip_tear(roll))
		note_aim(sheet, _("Strip tears"), roll->roll->width,
		    _("left edge"), arena, out);
	note_table(sheet, roll->roll, arena, out);
}

void notes_group(const struct sheet *sheet, const struct sheet_roll *roll,
    const struct group *group, struct arena *arena, struct notes *out)
{
	if (sheet->input->straightedge > 0 &&
	    group->strip->height > sheet->input->straightedge)
		note_aim(sheet, _("Segment tears"), group->strip->height,
		    _("near edge"), arena, out);
	notes_add(out, arena, NOTE_LINE, _("Used when %s off: %s of %s."),
	    group->first == group->last ? _("this strip is")
					: _("these strips are"),
	    notes_mark(sheet, arena, group->used),
	    notes_mark(sheet, arena, roll->roll->length));
}

void notes_after(
    const struct sheet *sheet, struct arena *arena, struct notes *out)
{
	const struct sheet_input *input = sheet->input;

	notes_add(out, arena, NOTE_BOX,
	    _("Stack the pieces flat, face to face with clean paper between, "
	      "under a board and "
	      "weights."));
	if (input->flattening_days > 0)
		notes_add(out, arena, NOTE_BOX,
		    input->flattening_days == 1
			? _("Leave the stack for %d day, the studio's own "
			    "figure.")
			: _("Leave the stack for %d days, the studio's own "
			    "figure."),
		    input->flattening_days);
	if (is_set(input->open_on))
		notes_add(out, arena, NOTE_BOX,
		    _("Not to be opened before %s."), input->open_on);
	if (is_set(input->flat_on))
		notes_add(out, arena, NOTE_BOX, _("Must lie flat on %s."),
		    input->flat_on);
	notes_add(out, arena, NOTE_LINE,
	    _("The last strips of a roll curl most: put them lowest, under the "
	      "most weight."));
}

void notes_care(
    const struct sheet *sheet, struct arena *arena, struct notes *out)
{
	(void)sheet;
	notes_add(out, arena, NOTE_LINE,
	    _("Carry it flat, between boards. Keep it dry and out of the sun. "
	      "Touch the edges, "
	      "not the face. The code on the back goes under the tape."));
}
