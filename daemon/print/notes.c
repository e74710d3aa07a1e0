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

static void note(struct notes *out, struct arena *arena, enum note_kind kind,
    const char *fmt, ...) PRINTF_LIKE(4, 5);
static void note(struct notes *out, struct arena *arena, enum note_kind kind,
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

static const char *mark(
    const struct sheet *sheet, struct arena *arena, length l)
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

static void note_take(const struct sheet *sheet, const struct take *take,
    struct arena *arena, struct notes *out)
{
	const struct sheet_roll *roll = &sheet->rolls[take->first_roll - 1];
	char size[MARK_TEXT_MAX];

	mark_print_size(
	    size, roll->stock->width, roll->stock->length, &sheet->ruler, "x");
	note(out, arena, NOTE_BOX, "%lld x %s, %s, %s", (long long)take->count,
	    sheet->input->papers[take->paper].name, roll->label, size);
	int64_t grams = roll_grams(sheet, roll);
	const char *weight = grams > 0
				 ? arena_printf(arena, _("about %s each. "),
				       kilograms(arena, grams))
				 : "";
	if (is_set(roll->place) || is_set(roll->lot) || grams > 0)
		note(out, arena, NOTE_UNDER, "%s%s%s%s%s%s%s", weight,
		    is_set(roll->place) ? _("Place: ") : "", roll->place,
		    is_set(roll->place) ? ". " : "",
		    is_set(roll->lot) ? _("Lot: ") : "", roll->lot,
		    is_set(roll->lot) ? "." : "");
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
	note(out, arena, NOTE_BOX,
	    _("A large square, a straightedge, a ruler, a soft pencil, "
	      "weights, a board. "
	      "The longest tear is %s."),
	    mark(sheet, arena, longest_tear(sheet)));
	note(out, arena, NOTE_BOX,
	    _("Table cleared and clean, hands clean and dry."));
	for (size_t i = 0; i < sheet->n_rolls; i++) {
		const struct sheet_roll *roll = &sheet->rolls[i];
		note(out, arena, NOTE_BOX,
		    _("%s: measure it. It must be at least %s wide and %s "
		      "long."),
		    phrase_name_first(sheet, roll->number, arena),
		    mark(sheet, arena, roll->need_width),
		    mark(sheet, arena, roll->need_length));
	}
	note(out, arena, NOTE_UNDER,
	    _("If one measures less: tear nothing from it. Set it aside, give "
	      "the measured size "
	      "to the plan and print a new sheet."));
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

	note(out, arena, NOTE_LINE,
	    _("Stand at the free end of the roll; the roll lies away from you. "
	      "The free end is the "
	      "NEAR edge, the edge at your left hand is the LEFT edge. Keep "
	      "every strip lying "
	      "that way."));
	if (has_flat(sheet))
		note(out, arena, NOTE_LINE,
		    _("A flat sheet lies the same way: NEAR is the edge before "
		      "you."));
	if (is_set(input->side_up))
		note(out, arena, NOTE_LINE,
		    _("Paper: %s. Turn pieces flat on the table, never over."),
		    input->side_up);
	else
		note(out, arena, NOTE_LINE,
		    _("One same side up for all, as the studio decides. Turn "
		      "pieces flat on the "
		      "table, never over."));
	note(out, arena, NOTE_LINE,
	    _("Lay the square along the left edge of the roll. If the free end "
	      "is not square to "
	      "it, tear it square first and measure from there."));
	note(out, arena, NOTE_LINE,
	    _("Every mark is a running total from the edge that is named, "
	      "never from the last "
	      "mark. Set all the marks of a strip before its first tear, on "
	      "both sides of each "
	      "tear and at the aiming marks between."));
	note(out, arena, NOTE_LINE,
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

	note(out, arena, NOTE_LINE,
	    _("The studio's own rules and local rules come first; where they "
	      "say otherwise, "
	      "follow them."));
	if (is_set(sheet->input->rules))
		note(out, arena, NOTE_LINE, _("Here: %s"), sheet->input->rules);
	note(out, arena, NOTE_LINE,
	    _("A metal straightedge has sharp edges and corners: hold it well "
	      "back from the edge "
	      "you tear along. Paper edges cut too."));
	if (grams > 0)
		note(out, arena, NOTE_LINE,
		    _("The heaviest roll weighs about %s, core and wrapping "
		      "not counted. Two carry "
		      "a long one, above all on stairs."),
		    kilograms(arena, grams));
	else
		note(out, arena, NOTE_LINE,
		    _("Two carry a long roll, above all on stairs."));
	note(out, arena, NOTE_LINE,
	    _("Weights: several small ones rather than one heavy, put down "
	      "flat, away from the "
	      "table's edge, feet clear."));
	note(out, arena, NOTE_LINE,
	    _("Paper on the floor is slippery: pick up as you go. Good light "
	      "on the marks."));
	note(out, arena, NOTE_LINE,
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
		    len ? ", " : "", mark(sheet, arena, at));
	if (aim.placements > 1)
		note(out, arena, NOTE_LINE,
		    _("%s (%s): lay the straightedge %lld times, part of it "
		      "over the torn line; "
		      "aiming marks at both edges and at %s from the %s."),
		    what, mark(sheet, arena, tear), (long long)aim.placements,
		    list, edge);
	else
		note(out, arena, NOTE_LINE,
		    _("%s (%s): aiming marks at both edges and at %s from the "
		      "%s."),
		    what, mark(sheet, arena, tear), list, edge);
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

void notes_roll(const struct sheet *sheet, const struct sheet_roll *roll,
    struct arena *arena, struct notes *out)
{
	if (roll->roll->quarter)
		note(out, arena, NOTE_LINE,
		    _("Lay it a quarter turn round: %s across, %s away from "
		      "you. The grain then "
		      "runs from left to right."),
		    mark(sheet, arena, roll->roll->width),
		    mark(sheet, arena, roll->roll->length));
	note(out, arena, NOTE_BOX,
	    _("Measured: at least %s wide, at least %s long."),
	    mark(sheet, arena, roll->need_width),
	    mark(sheet, arena, roll->need_length));
	for (size_t i = 0; i < roll->stock->n_spoiled; i++)
		note(out, arena, NOTE_LINE,
		    _("Spoiled from %s to %s: the plan goes round it."),
		    mark(sheet, arena, roll->stock->spoiled[i].from),
		    mark(sheet, arena, roll->stock->spoiled[i].to));
	if (has_strip_tear(roll))
		note_aim(sheet, _("Strip tears"), roll->roll->width,
		    _("left edge"), arena, out);
}

static void note_at_once(const struct sheet *sheet, const struct group *group,
    struct arena *arena, struct notes *out)
{
	length height = group->strip->height;
	int64_t n = (int64_t)(group->last - group->first + 1);
	int64_t fit = sheet->input->table / height;
	char list[512] = "";
	size_t len = 0;

	if (fit > n)
		fit = n;
	if (fit < 2)
		return;
	for (int64_t i = 1; i <= fit && len < sizeof(list) - LENGTH_TEXT_MAX;
	     i++)
		len += (size_t)snprintf(list + len, sizeof(list) - len, "%s%s",
		    len ? ", " : "", mark(sheet, arena, i * height));
	note(out, arena, NOTE_LINE,
	    _("The table takes %lld at a time: mark them all from the one near "
	      "edge, at %s."),
	    (long long)fit, list);
}

void notes_group(const struct sheet *sheet, const struct sheet_roll *roll,
    const struct group *group, struct arena *arena, struct notes *out)
{
	if (sheet->input->straightedge > 0 &&
	    group->strip->height > sheet->input->straightedge)
		note_aim(sheet, _("Segment tears"), group->strip->height,
		    _("near edge"), arena, out);
	if (sheet->input->table > 0)
		note_at_once(sheet, group, arena, out);
	note(out, arena, NOTE_LINE, _("Used when %s off: %s of %s."),
	    group->first == group->last ? _("this strip is")
					: _("these strips are"),
	    mark(sheet, arena, group->used),
	    mark(sheet, arena, roll->roll->length));
}

void notes_after(
    const struct sheet *sheet, struct arena *arena, struct notes *out)
{
	const struct sheet_input *input = sheet->input;

	note(out, arena, NOTE_BOX,
	    _("Stack the pieces flat, face to face with clean paper between, "
	      "under a board and "
	      "weights."));
	if (input->flattening_days > 0)
		note(out, arena, NOTE_BOX,
		    input->flattening_days == 1
			? _("Leave the stack for %d day, the studio's own "
			    "figure.")
			: _("Leave the stack for %d days, the studio's own "
			    "figure."),
		    input->flattening_days);
	if (is_set(input->open_on))
		note(out, arena, NOTE_BOX, _("Not to be opened before %s."),
		    input->open_on);
	if (is_set(input->flat_on))
		note(out, arena, NOTE_BOX, _("Must lie flat on %s."),
		    input->flat_on);
	note(out, arena, NOTE_LINE,
	    _("The last strips of a roll curl most: put them lowest, under the "
	      "most weight."));
}

void notes_care(
    const struct sheet *sheet, struct arena *arena, struct notes *out)
{
	(void)sheet;
	note(out, arena, NOTE_LINE,
	    _("Carry it flat, between boards. Keep it dry and out of the sun. "
	      "Touch the edges, "
	      "not the face. The code on the back goes under the tape."));
}
