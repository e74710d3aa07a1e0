/* SPDX-License-Identifier: MIT */
/*
 * What a tear sheet says, before it has a form: for the files of this folder.
 *
 * sheet -> rolls -> groups of strips that are torn alike -> steps, one for each tear, with
 * one tick for each strip of the group.  One arena holds it all.
 */
#ifndef PRINT_SHEET_MODEL_H
#define PRINT_SHEET_MODEL_H

#include "arena.h"
#include "mark.h"
#include "sheet.h"

#define NOBODY SIZE_MAX
#define NOT_KEPT SIZE_MAX

enum step_kind {
	STEP_GAP, /* off the roll: what lies before the next strip, set aside */
	STEP_STRIP,   /* off the roll: a strip */
	STEP_SEGMENT, /* off a strip: what ends at the mark */
	STEP_STACK,   /* off a segment, across it: what ends at the mark */
	STEP_TRIM,    /* a part of a segment to its width */
};

enum off_kind {      /* what comes off at a tear, or is left when number is 0 */
	OFF_STRIP,   /* to be torn into segments */
	OFF_SEGMENT, /* to be torn further, by its number */
	OFF_PART,    /* to be trimmed, by its number in the segment */
	OFF_PIECE,
	OFF_WASTE,
	OFF_KEEP,
};

/* One box. */
struct tick {
	size_t strip;  /* number in its roll, from 1 */
	size_t member; /* whose piece comes off, or NOBODY */
	size_t piece;  /* of the problem, when member is somebody */
};

struct step {
	int64_t number; /* through the whole sheet; 0: no tear, a rest */
	enum step_kind kind;
	enum off_kind off;
	size_t segment, part; /* from 1; 0: none */
	length mark; /* from the near edge (gap, strip, stack) or the left */
	length across, along; /* of what comes off */
	size_t kept;          /* index into the sheet's shelf, or NOT_KEPT */
	bool turned, larger;  /* the piece lies turned, or is oversize */
	const struct tick *ticks;
	size_t n_ticks;
};

struct group {
	bool flat;                 /* off a flat sheet, not off a roll */
	size_t first, last;        /* strip numbers, from 1 */
	const struct strip *strip; /* how each of them is torn */
	length used; /* of the roll, when the last of them is off */
	struct step *steps;
	size_t n_steps, n_tears; /* n_tears: the steps that have a number */
};

struct sheet_roll {
	size_t number; /* from 1 through the whole sheet */
	size_t paper;
	const struct roll *roll;
	const struct stock *stock;
	const char *label, *lot, *place;
	length need_width, need_length; /* what the pieces really reach */
	length left; /* of its length, after the last strip */
	struct group *groups;
	size_t n_groups;
};

/* What goes back, and what to write on it: one entry for like offcuts. */
struct shelf {
	const char *code;
	int64_t count;
	size_t roll, first, last; /* strips; 0: what is left of the roll */
	length across, along;
};

struct spot { /* where a piece of a pick is found */
	size_t roll, strip;
};

struct pick { /* one request of a member */
	size_t paper, piece;
	int64_t count, missing;
	struct spot *spots; /* count of them, in the order of the tears */
};

struct sheet_hand { /* one member's hand-out */
	const char *name, *code;
	struct pick *picks;
	size_t n_picks;
	int64_t count;
};

struct take { /* what to take off the shelf: like stock is told once */
	size_t paper, stock;
	int64_t count;
	size_t first_roll; /* number of the first such roll */
};

struct sheet {
	struct arena *arena;
	const struct sheet_input
	    *input; /* a copy; what it points to is borrowed */
	struct ruler ruler;
	const char *check;
	struct sheet_roll *rolls;
	size_t n_rolls;
	struct sheet_hand *hands; /* one for each member, in their order */
	size_t n_hands;
	struct shelf *shelf;
	size_t n_shelf, shelf_room;
	struct take *takes;
	size_t n_takes;
	int64_t n_steps;       /* numbered ones */
	int64_t n_tears;       /* with every tick */
	struct canvas **drawn; /* the pages, when they have been laid out */
};

/* How much there is to do, in figures. */
struct sheet_count {
	int64_t rolls, strips, tears, pieces;
};
struct sheet_count sheet_count(const struct sheet *sheet);

/* s when it is a line of UTF-8 (or NULL), else a copy with U+FFFD for what is none. */
const char *sheet_line(struct arena *arena, const char *s);

/* True when an offcut of this size goes to the shelf. */
bool sheet_keeps(const struct sheet *sheet, length across, length along);
/* The same for what is left of a roll. */
bool sheet_keeps_left(const struct sheet *sheet, const struct sheet_roll *roll);

/* The member to whom an entry of a paper's problem belongs. */
size_t sheet_owner(const struct sheet *sheet, size_t paper, size_t piece);

/* Fill the hands; needs the rolls. */
void sheet_pick(struct sheet *sheet);

/* Does the grid fit its page, and can a label be read? */
bool label_grid_check(const struct label_grid *grid, struct err *err) MUST_USE;

/* Add to the shelf what comes off strips first to last, one each (or the rest of the roll: 0);
 * returns its index. */
size_t sheet_keep(struct sheet *sheet, size_t roll, size_t first, size_t last,
    length across, length along);

#endif
