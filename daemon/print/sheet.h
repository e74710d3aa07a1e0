/* SPDX-License-Identifier: MIT */
/*
 * The tear sheet: finished plans become instructions that can be followed with wet hands.
 *
 *     struct sheet *sheet = sheet_new(&input);          the model: what to do, in which order
 *     sheet_text(sheet, &out);                          80 columns
 *     if (!sheet_pdf(sheet, &out, err)) ...             A4 or Letter
 *     sheet_delete(sheet);
 *     print_shutdown();                                 once, before the process ends
 *
 * Every form (text, PDF, SVG, JSON) is drawn from the one model, so they say the same.
 * The input, its problems and its plans are borrowed until sheet_delete(); a plan must
 * have passed the inspector.  Texts should be lines of UTF-8 (utf8_is_line()); what is none is
 * shown as U+FFFD.
 *
 * Everything that draws (sheet_pdf, sheet_svg, sheet_commands, sheet_pages) uses pango and
 * fontconfig, which are not safe in two threads at once: one thread of the process draws.
 * sheet_new, sheet_text, sheet_json and picture.h touch neither and may run anywhere.
 *
 * Where things are on the table, in every form: stand at the free end of the roll with
 * the roll lying away from you.  The free end is the NEAR edge, and your left hand is at the
 * LEFT edge.  Marks are running totals from the near edge (strips, stacks) or from the left
 * edge (segments, trims), never from mark to mark.
 *
 * A mark is printed in the studio's system when it lies on the studio's ruler.  Otherwise it
 * is printed exactly in whichever system can hold it and flagged ("use the mm side of the
 * ruler"); nothing is rounded.
 */
#ifndef PRINT_SHEET_H
#define PRINT_SHEET_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "err.h"
#include "measure.h"
#include "plan.h"
#include "problem.h"
#include "text.h"

#define TEAR_SHEET_MAX ((size_t)64 << 20) /* for text_init() of any form */
#define SHEET_DRAWN_MAX 20000             /* pieces on a sheet that is drawn */
#define SHEET_CODE_MAX 8
#define SHEET_CHECK_MAX 8

enum sheet_page { SHEET_A4, SHEET_LETTER };
/* Which side of the straightedge is pulled: the paper before you, or the one beyond it. */
enum sheet_pull { PULL_NEAR, PULL_FAR };

/* clang-format off */
struct sheet_member {
	const char *name; /* what may lie on a table: a first name; NULL or "": the code alone */
	const char *code; /* pencil code; NULL: sheet_code() of its place in the list */
};

struct sheet_request { /* one for each problem->pieces entry, in the same order */
	size_t member; /* index into input.members */
	length finished_across, finished_along; /* picture area asked for; 0: not known */
};

struct sheet_stock { /* one for each problem->stock entry, in the same order */
	const char *label;       /* NULL: the name in the problem */
	const char *lot, *place; /* NULL or "": not known */
};

struct sheet_paper {
	const char *name; /* "cold press 300" */
	int64_t grams;    /* g/m2; 0: not known, then no weight is printed */
	const struct problem *problem;
	const struct plan *plan;
	const struct sheet_request *requests; /* NULL: entry i is member i */
	const struct sheet_stock *stock;      /* NULL: the names in the problem */
};

/*
 * Texts may be NULL or "" and are then left out.  Dates and times are texts ready to print,
 * in the studio's time zone and with the weekday.
 */
struct sheet_input {
	const char *studio, *workshop;
	int64_t number;    /* of the plan; 0: none */
	const char *check; /* short check code; NULL: sheet_check() */
	bool superseded;   /* a newer plan exists: said on each page */
	const char *closing, *tear_on, *flat_on;
	const char *open_on;  /* when the flattening stack may be opened */
	int flattening_days;  /* 0: the studio's habit */
	const char *made;     /* ISO 8601 instant for the PDF; NULL: a fixed one */
	enum measure_system system;
	length step;          /* smallest division of the ruler; 0: 1/16 in or 1 mm */
	length straightedge;  /* its length; 0: not known */
	length table;         /* its length; 0: not known */
	length keep;          /* offcuts at least so long both ways go to the shelf, and what
				 is left of a roll when it is at least so long; 0: no
				 offcuts, and all that is left of rolls */
	bool both;            /* the other system too, beside each mark */
	enum sheet_pull pull;
	const char *side_up;  /* "felt side up" */
	const char *rules;    /* one line of the studio's own rules */
	const char *shelf_url; /* stands before a shelf code in its QR code; NULL: no QR */
	enum sheet_page page;
	bool large;           /* large print: 18 pt */
	const char *language; /* "de"; NULL, "" or one we do not know: English */
	const struct sheet_paper *papers;
	size_t n_papers;
	const struct sheet_member *members;
	size_t n_members;
};
/* clang-format on */

struct sheet;

struct sheet *sheet_new(const struct sheet_input *input);
void sheet_delete(struct sheet *sheet); /* NULL is fine */

/* At most 80 columns, lines end in LF, no control characters: for a terminal or a line printer. */
void sheet_text(const struct sheet *sheet, struct text *out);
/*
 * The same content as a part of a web page, <div class="tear-sheet">: no script, no style
 * attribute; headings begin at h2.  Ids in it begin with `id`.  Classes: notes, steps, mark,
 * remark, boxes, box (draw a square before it), code, hands, picks, missing, shelf, drawing,
 * superseded.
 */
void sheet_html(const struct sheet *sheet, const char *id, struct text *out);
/* The same as a whole page that needs nothing else: for a telephone without a network. */
void sheet_html_page(const struct sheet *sheet, struct text *out);
/* The same content as a JSON object; docs/sheet.md has the form. */
void sheet_json(const struct sheet *sheet, struct text *out);
/* Is there a catalogue of this language?  "en" always is. */
bool sheet_speaks(const char *language);

/*
 * "Thu 2026-06-04" and "Thu 2026-06-04 17:00" as this language says it: "Thursday, 4 June 2026,
 * 17:00".  What has another form is given back as it is.
 */
#define SHEET_DAY_MAX 96
const char *sheet_day(
    char buf[static SHEET_DAY_MAX], const char *language, const char *when);

/* What goes back on the shelf, by its place in the list; false behind the last. */
struct sheet_kept {
	const char *code; /* to be written on it */
	int64_t count;
	length across, along;
	size_t paper,
	    roll;     /* index into the papers and the rolls of that plan */
	bool is_rest; /* of the roll, behind its last strip; else an offcut */
};
bool sheet_kept(
    const struct sheet *sheet, size_t index, struct sheet_kept *out);

/*
 * The text form of a plan that has no workshop around it: pieces with the same name are one
 * member's.  For a lone painter with a roll and a list of sizes.
 */
struct sheet_plain {
	bool
	    measured; /* system is said; else inches when all lengths have them */
	enum measure_system system;
	const char *language; /* NULL: English */
};
void sheet_text_plain(const struct problem *problem, const struct plan *plan,
    const struct sheet_plain *how, struct text *out);
/* The same bytes for the same input on the same machine.  ERR_LIMIT beyond SHEET_DRAWN_MAX. */
bool sheet_pdf(
    const struct sheet *sheet, struct text *out, struct err *err) MUST_USE;
/* How labels lie on a sheet of labels: what the maker of the sheets prints on the box. */
struct label_grid {
	enum sheet_page page;
	size_t columns, rows;
	length width, height; /* of one label */
	length left, top; /* from the edges of the page to the first label */
	length step_x, step_y; /* from one label to the next */
	size_t skip;           /* labels of the first page that are used up */
};

/* A4: 3 x 7 of 63.5 x 38.1 mm; Letter: 3 x 10 of 2 5/8 x 1 in. */
struct label_grid label_grid_default(enum sheet_page page);

/*
 * "a4; 3 x 7; 63.5 x 38.1 mm; 7.2 x 15.1 mm; 66 x 38.1 mm": page, columns x rows, width x height
 * of a label, left x top of the first, from one to the next.  "" or a page alone: the usual grid,
 * of `page` when the text names none.  Refuses what sheet_labels_pdf() would.
 */
bool label_grid_read(const char *text, enum sheet_page page,
    struct label_grid *out, struct err *err) MUST_USE;

/*
 * One label for each request: code, name, how many of which size and paper, and the plan.
 * Refused when the grid does not fit the page, or a label is too small to be read.
 */
bool sheet_labels_pdf(const struct sheet *sheet, const struct label_grid *grid,
    struct text *out, struct err *err) MUST_USE;
/* The same as commands, for review. */
bool sheet_labels_commands(const struct sheet *sheet,
    const struct label_grid *grid, struct text *out, struct err *err) MUST_USE;

/* Number of pages of the drawn forms; 0 when there are too many pieces. */
size_t sheet_pages(const struct sheet *sheet);
/* One page, from 1, as a stand-alone SVG with real text. */
bool sheet_svg(const struct sheet *sheet, size_t page, struct text *out,
    struct err *err) MUST_USE;
/* What is drawn, one command a line: for review and golden files. */
void sheet_commands(const struct sheet *sheet, struct text *out);

/* Signs in names that no font on this machine can show: worth a line in the log. */
size_t sheet_unknown_signs(const struct sheet *sheet);

/*
 * The pencil code of member `index` of `n`: one letter for up to 16 members, then a letter
 * and a digit, and so on; always a letter first.  Left out are signs that are mistaken for one
 * another or stand on their head as another: I O Q S Z B, G J V W, and the digits 0 1 5 8.
 */
const char *sheet_code(char buf[static SHEET_CODE_MAX], size_t index, size_t n);

/* Four signs that change when a plan changes: so that pages of two plans cannot be mixed. */
const char *sheet_check(
    char buf[static SHEET_CHECK_MAX], const struct sheet_input *input);

/* Let go of the fonts; call it when nothing is drawn any more. */
void print_shutdown(void);

#endif
