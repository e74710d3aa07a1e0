/* SPDX-License-Identifier: MIT */
/*
 * Tears a blank roll by what is printed, and by nothing else.
 *
 * It reads the steps of the text form, carries them out with whole numbers on blank rolls
 * of the printed size, and lists every piece that came off with the code that is to be
 * written on it and the place where it lay.  It knows nothing of plans.
 */
#ifndef TESTS_PRINT_RETEAR_H
#define TESTS_PRINT_RETEAR_H

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "measure.h"

struct torn { /* a piece in the hand */
	size_t roll;
	length x, y; /* of its left near corner, on the blank roll */
	length across, along;
	char code[16];
};

struct sheet_of_paper { /* something on the table, with where it lay */
	length x, y, w, h;
	length done; /* from its edge, along the tears of its kind */
	bool there;
};

#define RETEAR_STRIPS 512
#define RETEAR_SEGMENTS 64
#define RETEAR_PARTS 64

struct retear {
	struct torn *torn;
	size_t n_torn, room;
	char fault[256]; /* "" while all goes well */
	long next_number;
	/* the table */
	size_t roll;
	struct sheet_of_paper blank;
	struct sheet_of_paper strips[RETEAR_STRIPS];
	struct sheet_of_paper segments[RETEAR_STRIPS][RETEAR_SEGMENTS];
	struct sheet_of_paper parts[RETEAR_STRIPS][RETEAR_SEGMENTS]
				   [RETEAR_PARTS];
	/* where we are in the text */
	enum {
		FROM_NOTHING,
		FROM_ROLL,
		FROM_STRIP,
		FROM_SEGMENT,
		FROM_PART
	} from;
	size_t first, last, segment, part;
	bool once; /* what is left on the roll: not for each strip */
	size_t parts_in_segment[RETEAR_STRIPS][RETEAR_SEGMENTS];
};

static inline void retear_fault(
    struct retear *t, const char *what, const char *line)
{
	if (!t->fault[0])
		snprintf(t->fault, sizeof(t->fault), "%s: %.150s", what, line);
}

static inline bool retear_length(const char *s, size_t len, length *out)
{
	struct err err;
	while (len > 0 && s[len - 1] == ' ')
		len--;
	return length_parse(s, len, out, &err);
}

/* "9 1/2 x 12 in": a unit that stands once is meant for both. */
static inline bool retear_size(const char *s, length *across, length *along)
{
	char a[96], b[96];
	const char *x = strstr(s, " x ");
	if (!x || (size_t)(x - s) >= sizeof(a) - 8)
		return false;
	size_t n = strcspn(x + 3, ",(:\n");
	snprintf(a, sizeof(a), "%.*s", (int)(x - s), s);
	snprintf(b, sizeof(b), "%.*s", (int)n, x + 3);
	while (*b && b[strlen(b) - 1] == ' ')
		b[strlen(b) - 1] = '\0';
	const char *unit = strrchr(b, ' ');
	if (unit && !isalpha((unsigned char)a[strlen(a) - 1]))
		strncat(a, unit, sizeof(a) - strlen(a) - 1);
	return retear_length(a, strlen(a), across) &&
	       retear_length(b, strlen(b), along);
}

static inline void retear_piece(
    struct retear *t, const struct sheet_of_paper *p, const char *code)
{
	if (t->n_torn == t->room) {
		t->room = t->room ? 2 * t->room : 256;
		t->torn = xrealloc(t->torn, t->room, sizeof(*t->torn));
	}
	struct torn *torn = &t->torn[t->n_torn++];
	*torn = (struct torn){t->roll, p->x, p->y, p->w, p->h, ""};
	snprintf(torn->code, sizeof(torn->code), "%s", code);
}

/* Tear off what lies between the last tear and the mark; mark 0: take all that is left. */
static inline struct sheet_of_paper retear_off(struct retear *t,
    struct sheet_of_paper *from, bool across, length mark, const char *line)
{
	struct sheet_of_paper off = *from;
	length whole = across ? from->w : from->h;
	if (!from->there)
		retear_fault(t, "nothing there to tear from", line);
	if (mark == 0)
		mark = whole;
	else if (mark >= whole)
		retear_fault(t, "mark outside of the paper", line);
	if (mark <= from->done)
		retear_fault(t, "mark before the last tear", line);
	if (across) {
		off.x += from->done;
		off.w = mark - from->done;
	} else {
		off.y += from->done;
		off.h = mark - from->done;
	}
	off.done = 0;
	from->done = mark;
	return off;
}

struct retear_step {
	long number; /* 0: no tear */
	length mark;
	char code[64];
	char what[256];
};

static inline void retear_do(struct retear *t, const struct retear_step *step,
    size_t strip, const char *code, const char *line)
{
	struct sheet_of_paper off;
	length across = 0, along = 0;
	const char *size = step->what + strcspn(step->what, " ") + 1;
	size_t n;

	if (strip == 0 || strip >= RETEAR_STRIPS) {
		retear_fault(t, "no such strip", line);
		return;
	}
	if (t->from == FROM_ROLL) {
		/* each strip is measured from the near edge as it then is */
		off = retear_off(t, &t->blank, false, step->mark, line);
		t->blank.y += t->blank.done;
		t->blank.h -= t->blank.done;
		t->blank.done = 0;
	} else if (t->from == FROM_STRIP) {
		off = retear_off(t, &t->strips[strip], true, step->mark, line);
	} else if (t->from == FROM_SEGMENT) {
		off = retear_off(t, &t->segments[strip][t->segment], false,
		    step->mark, line);
	} else {
		struct sheet_of_paper *p =
		    t->part ? &t->parts[strip][t->segment][t->part]
			    : &t->segments[strip][t->segment];
		off = retear_off(t, p, true, step->mark, line);
	}
	if (strncmp(step->what, "set aside ", 10) == 0)
		size = step->what + 10;
	if (sscanf(step->what, "segment %zu, ", &n) == 1 &&
	    n < RETEAR_SEGMENTS) {
		t->segments[strip][n] = off;
		size = strchr(step->what, ',') + 2;
	} else if (sscanf(step->what, "part %zu, ", &n) == 1 &&
		   n < RETEAR_PARTS) {
		t->parts[strip][t->segment][n] = off;
		size = strchr(step->what, ',') + 2;
	} else if (strncmp(step->what, "strip ", 6) == 0) {
		t->strips[strip] = off;
	} else if (strncmp(step->what, "piece ", 6) == 0) {
		retear_piece(t, &off, code);
	}
	if (!retear_size(size, &across, &along) || across != off.w ||
	    along != off.h)
		retear_fault(
		    t, "what comes off is not as large as printed", line);
}

/* "[ ]   12  9 1/2 in       from left     A  piece 9 1/2 x 12 in" */
static inline bool retear_line(
    struct retear *t, const char *line, struct retear_step *step)
{
	if (strlen(line) < 39 ||
	    (strncmp(line, "[ ] ", 4) && strncmp(line, "    ", 4)))
		return false;
	if (strncmp(line + 26, "from near", 9) &&
	    strncmp(line + 26, "from left", 9) &&
	    strncmp(line + 26, "no tear", 7))
		return false;
	char *end;
	step->number = strtol(line + 4, &end, 10);
	step->mark = 0;
	if (strncmp(line + 26, "no tear", 7) == 0) {
		step->number = 0;
	} else if (step->number != t->next_number++) {
		retear_fault(t, "a step is out of order", line);
	} else if (!retear_length(line + 10, 16, &step->mark)) {
		retear_fault(t, "the mark is no length", line);
	}
	bool left = strncmp(line + 26, "from left", 9) == 0;
	if (step->number &&
	    left != (t->from == FROM_STRIP || t->from == FROM_PART))
		retear_fault(t, "the edge is the wrong one", line);
	const char *what = line + 38, *gap = strstr(what, "  ");
	step->code[0] = '\0';
	if (gap) {
		snprintf(step->code, sizeof(step->code), "%.*s",
		    (int)(gap - what), what);
		what = gap + 2;
	}
	snprintf(step->what, sizeof(step->what), "%s", what);
	return true;
}

static inline bool off_the_roll(const char *line)
{
	return strncmp(line, "  Off the roll", 14) == 0 ||
	       strncmp(line, "  Off the sheet", 15) == 0;
}

static inline bool left_on_the_roll(const char *line)
{
	return strncmp(line, "  Left on the roll", 18) == 0 ||
	       strncmp(line, "  Left of the sheet", 19) == 0;
}

static inline void retear_context(struct retear *t, const char *line)
{
	size_t a, b;
	if (strncmp(line, "  ", 2) == 0 && isalpha((unsigned char)line[2]))
		t->once = left_on_the_roll(line);
	if (off_the_roll(line) || left_on_the_roll(line))
		t->from = FROM_ROLL;
	else if (strncmp(line, "  Off the strip", 15) == 0 ||
		 strncmp(line, "  Off each strip", 16) == 0)
		t->from = FROM_STRIP;
	else if (sscanf(line, "  Off segment %zu,", &a) == 1) {
		t->from = FROM_SEGMENT;
		t->segment = a;
	} else if (sscanf(line, "  Segment %zu part %zu to its width", &a,
		       &b) == 2) {
		t->from = FROM_PART;
		t->segment = a;
		t->part = b;
	} else if (sscanf(line, "  Segment %zu to its width", &a) == 1) {
		t->from = FROM_PART;
		t->segment = a;
		t->part = 0;
	}
}

static inline bool retear_heading(struct retear *t, const char *line)
{
	size_t roll, a, b;
	if (sscanf(line, "%*[RS]%*[a-z] %zu, strips %zu-%zu:", &roll, &a, &b) ==
	    3) {
		t->first = a;
		t->last = b;
	} else if (sscanf(line, "%*[RS]%*[a-z] %zu, strip %zu:", &roll, &a) ==
		   2) {
		t->first = t->last = a;
	} else {
		return false;
	}
	t->from = FROM_NOTHING;
	return true;
}

/* "[ ] strip 4: A    [ ] strip 5: C": each is one tear. */
static inline bool retear_ticks(
    struct retear *t, const struct retear_step *step, const char *line)
{
	const char *s = line;
	bool any = false;
	if (strncmp(line, "        [ ] strip ", 18) != 0)
		return false;
	while ((s = strstr(s, "[ ] strip ")) != NULL) {
		char *end;
		size_t strip = strtoul(s + 10, &end, 10);
		char code[64] = "";
		if (*end == ':')
			sscanf(end + 1, " %63[^ \n]", code);
		retear_do(t, step, strip, code, line);
		s = end;
		any = true;
	}
	return any;
}

static inline void retear_one(
    struct retear *t, const struct retear_step *step, const char *line)
{
	size_t strip = t->first;
	const char *named = strstr(step->what, "(strip ");
	if (named)
		strip = strtoul(named + 7, NULL, 10);
	retear_do(t, step, strip, step->code, line);
}

/* A step whose boxes stand on the lines below it, or one that needs none. */
static inline void retear_pending(struct retear *t, struct retear_step *step,
    bool *pending, bool ticked, const char *line)
{
	if (!*pending)
		return;
	*pending = false;
	if (ticked)
		return;
	for (size_t strip = t->first; strip <= t->last; strip++)
		retear_do(t, step, strip, "", line);
}

static inline void retear_roll(
    struct retear *t, const char *line, const char *size)
{
	length w, h;
	/* "label, 45 x 360 in (across x along)": the size stands last */
	const char *at = strrchr(size, '(');
	while (at && at > size && strncmp(at, ", ", 2) != 0)
		at--;
	if (sscanf(line, "%*[A-Z] %zu of ", &t->roll) != 1 || !at ||
	    !retear_size(at + 2, &w, &h)) {
		retear_fault(t, "the size of the roll cannot be read", size);
		return;
	}
	t->blank = (struct sheet_of_paper){0, 0, w, h, 0, true};
	memset(t->strips, 0, sizeof(t->strips));
	memset(t->segments, 0, sizeof(t->segments));
	memset(t->parts, 0, sizeof(t->parts));
}

/* Lines that belong to the one before (wrapped) joined to it. */
static inline char **retear_lines(const char *text, size_t *n)
{
	char **lines = xcalloc(strlen(text) + 1, sizeof(*lines));
	*n = 0;
	for (const char *s = text; *s;) {
		size_t len = strcspn(s, "\n");
		if (*n > 0 && len > 38 && strspn(s, " ") == 38) {
			char *joined = xmalloc(strlen(lines[*n - 1]) + len + 2);
			sprintf(joined, "%s %.*s", lines[*n - 1],
			    (int)(len - 38), s + 38);
			free(lines[*n - 1]);
			lines[*n - 1] = joined;
		} else {
			lines[(*n)++] = xstrndup(s, len);
		}
		s += len + (s[len] == '\n');
	}
	return lines;
}

/* t is zeroed by the caller; t->fault says what does not work. */
static inline void retear(struct retear *t, const char *text)
{
	size_t n;
	char **lines = retear_lines(text, &n);
	struct retear_step step = {0};
	bool pending = false, ticked = false;

	t->next_number = 1;
	for (size_t i = 0; i < n; i++) {
		const char *line = lines[i];
		if (pending && retear_ticks(t, &step, line)) {
			ticked = true;
			continue;
		}
		/* a remark, or its second line */
		if (pending && (strncmp(line, "          ^ ", 12) == 0 ||
				   strncmp(line, "            ", 12) == 0))
			continue;
		retear_pending(t, &step, &pending, ticked, line);
		ticked = false;
		if ((strncmp(line, "ROLL ", 5) == 0 ||
			strncmp(line, "SHEET ", 6) == 0) &&
		    i + 1 < n)
			retear_roll(t, line, lines[i + 1]);
		if (strncmp(line, "AFTER ", 6) == 0)
			break;
		if (retear_heading(t, line))
			continue;
		retear_context(t, line);
		if (t->from == FROM_NOTHING || !retear_line(t, line, &step))
			continue;
		if (line[0] == '[' || t->first == t->last || t->once ||
		    strstr(step.what, "(strip "))
			retear_one(t, &step, line);
		else
			pending = true;
	}
	for (size_t i = 0; i < n; i++)
		free(lines[i]);
	free(lines);
}

#endif
