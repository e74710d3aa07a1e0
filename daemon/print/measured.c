/* SPDX-License-Identifier: MIT */
/*
 * measured.c - what to do when a roll measures less than the plan believed.
 *
 * The printed width of a roll is a name; the tape measure may say 44 3/4 at the moment when
 * twelve people wait for their paper.  So the sheet says beforehand, from the plan itself,
 * how far each strip reaches: which can still be torn from a narrower or shorter roll, which
 * cannot, and on which other roll of the plan there is room for those.
 */
#include <string.h>

#include "catalogue.h"
#include "notes.h"

#define LIST_MAX 80 /* letters of strip numbers; a longer list is a count */
#define TOLD_WIDTHS 2
#define TOLD                                                                   \
	3 /* limits a roll is told, the nearest ones; beyond it a new plan is due */

/* The widest segment end below `below`, over all strips; 0 when there is none. */
static length next_end(const struct roll *roll, length below)
{
	length most = 0;

	for (size_t i = 0; i < roll->n_strips; i++) {
		const struct strip *strip = &roll->strips[i];
		for (size_t k = 0; k < strip->n_segments; k++) {
			length end =
			    strip->segments[k].at + strip->segments[k].width;
			if (end < below && end > most)
				most = end;
		}
	}
	return most;
}

/* Pieces of a strip in segments that end at `least` or beyond. */
static size_t pieces_beyond(const struct strip *strip, length least)
{
	size_t n = 0;

	for (size_t k = 0; k < strip->n_segments; k++) {
		const struct segment *segment = &strip->segments[k];
		if (segment->at + segment->width >= least)
			n += segment->n_pieces;
	}
	return n;
}

/* "1-3, 7": the strips that lose pieces on a roll narrower than `least`. */
static const char *strips_losing(
    const struct roll *r, length least, struct arena *arena)
{
	const char *list = "";

	for (size_t i = 0; i < r->n_strips; i++) {
		size_t first = i;
		if (pieces_beyond(&r->strips[i], least) == 0)
			continue;
		while (i + 1 < r->n_strips &&
		       pieces_beyond(&r->strips[i + 1], least) > 0)
			i++;
		const char *comma = *list ? ", " : "";
		if (first == i)
			list =
			    arena_printf(arena, "%s%s%zu", list, comma, i + 1);
		else
			list = arena_printf(arena, "%s%s%zu-%zu", list, comma,
			    first + 1, i + 1);
		if (strlen(list) > LIST_MAX)
			return _("and more");
	}
	return list;
}

static void note_narrower(const struct sheet *sheet,
    const struct sheet_roll *roll, struct arena *arena, struct notes *out)
{
	const char *text = "";
	length at = roll->need_width;

	for (int i = 0; at > 0 && i < TOLD_WIDTHS; i++) {
		size_t lost = 0;
		for (size_t k = 0; k < roll->roll->n_strips; k++)
			lost += pieces_beyond(&roll->roll->strips[k], at);
		text = arena_printf(arena,
		    lost == 1 ? _("%s%sbelow %s: %zu piece (strip %s)")
			      : _("%s%sbelow %s: %zu pieces (strips %s)"),
		    text, *text ? "; " : "", notes_mark(sheet, arena, at), lost,
		    strips_losing(roll->roll, at, arena));
		at = next_end(roll->roll, at);
	}
	notes_add(out, arena, NOTE_UNDER,
	    _("Narrower: leave out what would lie beyond the paper. That is "
	      "%s."),
	    text);
}

static void note_shorter(const struct sheet *sheet,
    const struct sheet_roll *roll, struct arena *arena, struct notes *out)
{
	const struct roll *r = roll->roll;
	const char *text = "";

	for (size_t i = r->n_strips; i > 0 && r->n_strips - i < TOLD; i--) {
		const struct strip *s = &r->strips[i - 1];
		text = arena_printf(arena, _("%s%sstrip %zu needs %s"), text,
		    *text ? ", " : "", i,
		    notes_mark(sheet, arena, s->at + s->height));
	}
	notes_add(out, arena, NOTE_UNDER,
	    r->n_strips > TOLD
		? _("Shorter: leave out the last strips; %s, and so on.")
		: _("Shorter: leave out the last strips; %s."),
	    text);
}

/* The tallest strip of a roll: what a rest must have for any of them. */
static length tallest(const struct sheet_roll *roll)
{
	length most = 0;

	for (size_t i = 0; i < roll->roll->n_strips; i++) {
		if (roll->roll->strips[i].height > most)
			most = roll->roll->strips[i].height;
	}
	return most;
}

/*
 * Another roll of the same paper whose rest takes at least one strip of this one, the roomiest; NULL when there
 * is none.  Spoiled runs in the rest are looked at: a rest with one is no safe promise.
 */
static const struct sheet_roll *find_room(
    const struct sheet *sheet, const struct sheet_roll *roll)
{
	const struct sheet_roll *best = NULL;

	for (size_t i = 0; i < sheet->n_rolls; i++) {
		const struct sheet_roll *other = &sheet->rolls[i];
		bool spoiled = false;
		for (size_t k = 0; k < other->stock->n_spoiled; k++)
			spoiled |= other->stock->spoiled[k].to >
				   other->roll->length - other->left;
		if (other == roll || other->paper != roll->paper ||
		    other->roll->quarter != roll->roll->quarter || spoiled ||
		    other->roll->width < roll->need_width ||
		    other->left < tallest(roll))
			continue;
		if (!best || other->left > best->left)
			best = other;
	}
	return best;
}

/* Could what a narrower roll loses still be torn from that roll?  Not what begins at its edge. */
static bool fits_its_own_rest(const struct sheet_roll *roll)
{
	for (size_t i = 0; i < roll->roll->n_strips; i++) {
		const struct strip *strip = &roll->roll->strips[i];
		for (size_t k = 0; k < strip->n_segments; k++) {
			const struct segment *s = &strip->segments[k];
			if (s->at == 0 && s->width == roll->need_width)
				return false;
		}
	}
	return roll->left >= tallest(roll);
}

static void note_instead(const struct sheet *sheet,
    const struct sheet_roll *roll, struct arena *arena, struct notes *out)
{
	const struct sheet_roll *other = find_room(sheet, roll);

	if (!other && fits_its_own_rest(roll))
		notes_add(out, arena, NOTE_UNDER,
		    _("What is left out: tear it as one more strip behind the "
		      "last; %s are left there."),
		    notes_mark(sheet, arena, roll->left));
	else if (!other)
		notes_add(out, arena, NOTE_UNDER,
		    _("What is left out: nothing else in this plan has room "
		      "for it. Note the codes; it needs a new plan."));
	else
		notes_add(out, arena, NOTE_UNDER,
		    _("What is left out: tear it from %s instead, behind its "
		      "last strip; there are %s left."),
		    phrase_name(sheet, other->number, arena),
		    notes_mark(sheet, arena, other->left));
}

/* Do the lines after `first` say the same as the `n` lines of another roll? */
static bool says_the_same(
    const struct notes *notes, size_t first, const struct note *other, size_t n)
{
	if (notes->n - first != n)
		return false;
	for (size_t i = 0; i < n; i++) {
		if (strcmp(notes->notes[first + i].text, other[i].text) != 0)
			return false;
	}
	return true;
}

void notes_measure(
    const struct sheet *sheet, struct arena *arena, struct notes *out)
{
	struct note before[3];
	size_t n_before = 0,
	       told = 0; /* lines and number of the last roll told in full */

	notes_add(out, arena, NOTE_LINE,
	    _("If one measures less: look for another of the same paper that "
	      "measures enough. If there is none, do what stands under it, "
	      "enter what you measured, and plan again for what is missing."));
	for (size_t i = 0; i < sheet->n_rolls; i++) {
		const struct sheet_roll *roll = &sheet->rolls[i];
		if (roll->roll->n_strips == 0)
			continue;
		notes_add(out, arena, NOTE_BOLD,
		    _("%s: at least %s across, %s along. Measured: ______ x "
		      "______"),
		    phrase_name_first(sheet, roll->number, arena),
		    notes_mark(sheet, arena, roll->need_width),
		    notes_mark(sheet, arena, roll->need_length));
		size_t first = out->n;
		note_narrower(sheet, roll, arena, out);
		note_shorter(sheet, roll, arena, out);
		note_instead(sheet, roll, arena, out);
		if (says_the_same(out, first, before, n_before)) {
			out->n = first;
			notes_add(out, arena, NOTE_UNDER, _("As under %s."),
			    phrase_name(sheet, told, arena));
			continue;
		}
		n_before = out->n - first;
		memcpy(before, out->notes + first, n_before * sizeof(*before));
		told = roll->number;
	}
}
