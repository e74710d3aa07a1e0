/* SPDX-License-Identifier: MIT */
/*
 * The sentences of a tear sheet, told once for every form.
 */
#ifndef PRINT_NOTES_H
#define PRINT_NOTES_H

#include "sheet_model.h"
#include "text.h"

enum note_kind {
	NOTE_LINE,  /* a sentence */
	NOTE_BOX,   /* something to do, with a box to tick */
	NOTE_BOLD,  /* the same, and the figures in it decide */
	NOTE_UNDER, /* belongs to the line above it */
};

struct note {
	enum note_kind kind;
	const char *text;
};

struct notes {
	struct note *notes; /* in the sheet's arena or static */
	size_t n, room;
};

void notes_add(struct notes *out, struct arena *arena, enum note_kind kind,
    const char *fmt, ...) PRINTF_LIKE(4, 5);
/* A length as it is marked. */
const char *notes_mark(
    const struct sheet *sheet, struct arena *arena, length l);

/* What each roll must measure, and what to do when one measures less. */
void notes_measure(
    const struct sheet *sheet, struct arena *arena, struct notes *out);
/* What is to be done and known before the first tear. */
void notes_before(
    const struct sheet *sheet, struct arena *arena, struct notes *out);
/* Where the edges are and how a mark is set. */
void notes_method(
    const struct sheet *sheet, struct arena *arena, struct notes *out);
void notes_cautions(
    const struct sheet *sheet, struct arena *arena, struct notes *out);
/* One roll: what to check on it. */
void notes_roll(const struct sheet *sheet, const struct sheet_roll *roll,
    struct arena *arena, struct notes *out);
/* One group: aiming marks, how many at once. */
void notes_group(const struct sheet *sheet, const struct sheet_roll *roll,
    const struct group *group, struct arena *arena, struct notes *out);
/* Flattening and care, for after the last tear. */
void notes_after(
    const struct sheet *sheet, struct arena *arena, struct notes *out);
/* What a member takes home with the pieces. */
void notes_care(
    const struct sheet *sheet, struct arena *arena, struct notes *out);

/* times is "x" or "×" throughout. */

/* "off each strip, from its left edge": what the following steps are torn from. */
const char *phrase_from(
    const struct group *group, const struct step *step, struct arena *arena);
/* True when a new phrase_from() stands before this step. */
bool phrase_from_changes(const struct step *before, const struct step *step);
/* "left" or "near": the edge of the mark, in one word. */
const char *phrase_edge(const struct step *step);
/* "piece 9 1/2 x 12 1/2 in, turned": what comes off or is left. */
const char *phrase_off(const struct sheet *sheet, const struct step *step,
    const char *times, struct arena *arena);
/* What is written beside a box: the pencil code, or "". */
const char *phrase_tick(const struct sheet *sheet, const struct tick *tick);
/* A remark when the mark is not on the ruler, else NULL. */
const char *phrase_mark(
    const struct sheet *sheet, const struct step *step, struct arena *arena);
/* "9 x 12 1/2 in", with "(228.6 x 317.5 mm)" when both are asked for. */
const char *phrase_size(const struct sheet *sheet, length across, length along,
    const char *times, struct arena *arena);
/* One request in a pick list; what the plan lacks of it; NULL or the picture it is for. */
const char *phrase_pick(const struct sheet *sheet, const struct pick *pick,
    const char *times, struct arena *arena);
const char *phrase_missing(const struct sheet *sheet, const struct pick *pick,
    const char *times, struct arena *arena);
const char *phrase_picture(const struct sheet *sheet, const struct pick *pick,
    const char *times, struct arena *arena);
/* "rolls", "sheet": what the plan is torn from, for its number. */
const char *phrase_rolls(const struct sheet *sheet);
/* "strips 4-9: six torn alike" */
const char *phrase_group(
    const struct sheet *sheet, const struct group *group, struct arena *arena);
/* "45 x 360 in" of a roll, in its own frame. */
const char *phrase_roll_size(const struct sheet *sheet,
    const struct sheet_roll *roll, const char *times, struct arena *arena);
/* "roll 1: strips 1, 2-4, 7" for each roll, joined by "; ". */
const char *phrase_spots(
    const struct sheet *sheet, const struct pick *pick, struct arena *arena);
/* "roll 2", "sheet 3" by its number; the other begins a sentence. */
const char *phrase_name(
    const struct sheet *sheet, size_t roll, struct arena *arena);
const char *phrase_name_first(
    const struct sheet *sheet, size_t roll, struct arena *arena);
/* "Roll 2 of 4, cold press 300" */
const char *phrase_roll(const struct sheet *sheet,
    const struct sheet_roll *roll, struct arena *arena);
/* "Roll 2, strips 1-3: 3 times alike, 12 1/2 in each" */
const char *phrase_heading(const struct sheet *sheet,
    const struct sheet_roll *roll, const struct group *group,
    struct arena *arena);

/* "3 of 8 x 12 1/2 in, cold press 300, roll 2 strips 1-3" */
const char *phrase_shelf(const struct sheet *sheet, const struct shelf *item,
    const char *times, struct arena *arena);

#endif
