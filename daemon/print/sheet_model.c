/* SPDX-License-Identifier: MIT */
/*
 * sheet_model.c - from where every piece lies to what the hands do, in their order.
 *
 * A plan says where things are; hands need to know what to do next.  Off the roll comes a
 * strip, off the strip its segments, off a segment its pieces, and last a piece is trimmed:
 * so each tear goes right across whatever it is torn from, and nothing is measured on a
 * part that is no longer there.
 *
 * Strips that follow each other and are torn alike are told once, whoever their pieces
 * belong to: a step then has one tick for each strip with the code beside it.  Grouping only
 * strips that also agree in their owners was tried in thought and dropped: in a class
 * nearly every strip has another mixture of people, and the sheet would be five times as long.
 */
#include "sheet_model.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "canvas.h"

#define MODEL_MAX                                                              \
	((size_t)1 << 31) /* a million pieces, each with its ticks and spots */

struct build {
	struct sheet *sheet;
	const struct sheet_paper *paper;
	size_t paper_index;
	struct sheet_roll *roll;
	const struct strip *strips; /* those of the group */
	size_t first, n;            /* number of the first, and how many */
	struct step *steps;         /* grows on the heap, ends in the arena */
	size_t n_steps, room;
};

size_t sheet_owner(const struct sheet *sheet, size_t paper, size_t piece)
{
	const struct sheet_request *requests =
	    sheet->input->papers[paper].requests;
	size_t member = requests ? requests[piece].member : piece;

	assert(member < sheet->input->n_members);
	return member;
}

bool sheet_keeps(const struct sheet *sheet, length across, length along)
{
	length keep = sheet->input->keep;

	return keep > 0 && across >= keep && along >= keep;
}

bool sheet_keeps_left(const struct sheet *sheet, const struct sheet_roll *roll)
{
	return roll->left > 0 && roll->left >= sheet->input->keep;
}

size_t sheet_keep(struct sheet *sheet, size_t roll, size_t first, size_t last,
    length across, length along)
{
	if (sheet->n_shelf == sheet->shelf_room) {
		size_t room = sheet->shelf_room ? 2 * sheet->shelf_room : 16;
		struct shelf *more =
		    arena_array(sheet->arena, room, sizeof(*more));
		if (sheet->n_shelf > 0)
			memcpy(
			    more, sheet->shelf, sheet->n_shelf * sizeof(*more));
		sheet->shelf = more;
		sheet->shelf_room = room;
	}
	struct shelf *item = &sheet->shelf[sheet->n_shelf];
	*item = (struct shelf){.roll = roll, .first = first, .last = last};
	item->count = (int64_t)(last - first + 1);
	item->across = across;
	item->along = along;
	item->code = sheet->input->number
			 ? arena_printf(sheet->arena, "%lld-%s-R%zu",
			       (long long)sheet->input->number, sheet->check,
			       sheet->n_shelf + 1)
			 : arena_printf(sheet->arena, "%s-R%zu", sheet->check,
			       sheet->n_shelf + 1);
	return sheet->n_shelf++;
}

/* A new step of the group; its ticks name nobody yet. */
static struct step *add(struct build *b, enum step_kind kind, enum off_kind off)
{
	struct step *step;

	if (b->n_steps == b->room) {
		b->room = b->room ? 2 * b->room : 32;
		b->steps = xrealloc(b->steps, b->room, sizeof(*b->steps));
	}
	step = &b->steps[b->n_steps++];
	*step = (struct step){
	    .kind = kind, .off = off, .n_ticks = b->n, .kept = NOT_KEPT};
	struct tick *ticks = arena_array(b->sheet->arena, b->n, sizeof(*ticks));
	for (size_t i = 0; i < b->n; i++)
		ticks[i] =
		    (struct tick){.strip = b->first + i, .member = NOBODY};
	step->ticks = ticks;
	return step;
}

static struct step *add_tear(
    struct build *b, enum step_kind kind, enum off_kind off, length mark)
{
	struct step *step = add(b, kind, off);

	step->mark = mark;
	step->number = ++b->sheet->n_steps;
	b->sheet->n_tears += (int64_t)step->n_ticks;
	return step;
}

static void set_size(struct step *step, length across, length along)
{
	step->across = across;
	step->along = along;
}

/* What comes off belongs to nobody: kept when large enough, else waste. */
static void set_rest(
    struct build *b, struct step *step, length across, length along)
{
	set_size(step, across, along);
	step->off = OFF_WASTE;
	if (!sheet_keeps(b->sheet, across, along))
		return;
	step->off = OFF_KEEP;
	step->kept = sheet_keep(b->sheet, b->roll->number, step->ticks[0].strip,
	    step->ticks[step->n_ticks - 1].strip, across, along);
}

static bool is_larger(const struct piece *asked, const struct placed *placed)
{
	return !(placed->across == asked->across &&
		   placed->along == asked->along) &&
	       !(placed->across == asked->along &&
		   placed->along == asked->across);
}

/* What comes off is piece k of segment s, each strip's own. */
static void set_piece(struct build *b, struct step *step, size_t s, size_t k)
{
	const struct placed *placed = &b->strips[0].segments[s].pieces[k];
	struct tick *ticks = (struct tick *)step->ticks;

	set_size(step, placed->across, placed->along);
	step->off = OFF_PIECE;
	step->turned = placed->turned;
	for (size_t i = 0; i < b->n; i++) {
		const struct placed *own = &b->strips[i].segments[s].pieces[k];
		ticks[i].piece = own->piece;
		ticks[i].member =
		    sheet_owner(b->sheet, b->paper_index, own->piece);
		if (is_larger(&b->paper->problem->pieces[own->piece], own))
			step->larger = true;
	}
}

static bool is_whole(const struct strip *strip, const struct segment *segment)
{
	return segment->n_pieces == 1 && segment->pieces[0].at == 0 &&
	       segment->pieces[0].along == strip->height &&
	       segment->pieces[0].across == segment->width;
}

/* Segments: running totals from the strip's left edge. */
static void tear_segments(struct build *b)
{
	const struct strip *strip = &b->strips[0];
	length width = b->roll->roll->width, done = 0;

	for (size_t s = 0; s < strip->n_segments; s++) {
		const struct segment *segment = &strip->segments[s];
		length end = segment->at + segment->width;
		struct step *step;

		if (segment->at > done) {
			step =
			    add_tear(b, STEP_SEGMENT, OFF_WASTE, segment->at);
			set_rest(b, step, segment->at - done, strip->height);
		}
		step = end < width ? add_tear(b, STEP_SEGMENT, OFF_SEGMENT, end)
				   : add(b, STEP_SEGMENT, OFF_SEGMENT);
		step->segment = s + 1;
		set_size(step, segment->width, strip->height);
		if (is_whole(strip, segment))
			set_piece(b, step, s, 0);
		done = end;
	}
	if (done < width)
		set_rest(b, add(b, STEP_SEGMENT, OFF_WASTE), width - done,
		    strip->height);
}

/* The parts of one segment: running totals from its near edge. */
static void tear_stack(struct build *b, size_t s)
{
	const struct strip *strip = &b->strips[0];
	const struct segment *segment = &strip->segments[s];
	length done = 0;

	for (size_t k = 0; k < segment->n_pieces; k++) {
		const struct placed *placed = &segment->pieces[k];
		length end = placed->at + placed->along;
		struct step *step;

		if (placed->at > done) {
			step = add_tear(b, STEP_STACK, OFF_WASTE, placed->at);
			step->segment = s + 1;
			set_rest(b, step, segment->width, placed->at - done);
		}
		/* a part as high as its segment is there already: only its trim is left */
		if (end < strip->height || done > 0 || placed->at > 0) {
			step = end < strip->height
				   ? add_tear(b, STEP_STACK, OFF_PART, end)
				   : add(b, STEP_STACK, OFF_PART);
			step->segment = s + 1;
			step->part = k + 1;
			set_size(step, segment->width, placed->along);
			if (placed->across == segment->width)
				set_piece(b, step, s, k);
		}
		done = end;
	}
	if (done < strip->height) {
		struct step *step = add(b, STEP_STACK, OFF_WASTE);
		step->segment = s + 1;
		set_rest(b, step, segment->width, strip->height - done);
	}
}

/* A part that is wider than its piece: measured from its left edge. */
static void tear_trims(struct build *b, size_t s)
{
	const struct segment *segment = &b->strips[0].segments[s];

	for (size_t k = 0; k < segment->n_pieces; k++) {
		const struct placed *placed = &segment->pieces[k];
		if (placed->across == segment->width)
			continue;
		struct step *step =
		    add_tear(b, STEP_TRIM, OFF_PIECE, placed->across);
		step->segment = s + 1;
		step->part = k + 1;
		set_piece(b, step, s, k);
		step = add(b, STEP_TRIM, OFF_WASTE);
		step->segment = s + 1;
		step->part = k + 1;
		set_rest(
		    b, step, segment->width - placed->across, placed->along);
	}
}

static void tear_strips(struct build *b)
{
	const struct strip *last = &b->strips[b->n - 1];
	bool at_end = last->at + last->height == b->roll->roll->length;
	size_t n = b->n;

	/* the last strip of a roll that is used up needs no tear */
	b->n = at_end ? n - 1 : n;
	if (b->n > 0) {
		struct step *step =
		    add_tear(b, STEP_STRIP, OFF_STRIP, last->height);
		set_size(step, b->roll->roll->width, last->height);
	}
	b->n = n;
	if (at_end) {
		size_t first = b->first;
		b->first += n - 1;
		b->n = 1;
		set_size(add(b, STEP_STRIP, OFF_STRIP), b->roll->roll->width,
		    last->height);
		b->first = first;
		b->n = n;
	}
}

/* What is left of the roll when its last strip is off. */
static void leave_roll(struct build *b)
{
	size_t first = b->first, n = b->n;

	b->first = 0;
	b->n = 1;
	struct step *step = add(b, STEP_STRIP, OFF_WASTE);
	b->first = first;
	b->n = n;
	set_size(step, b->roll->roll->width, b->roll->left);
	if (!sheet_keeps_left(b->sheet, b->roll))
		return;
	step->off = OFF_KEEP;
	step->kept = sheet_keep(b->sheet, b->roll->number, 0, 0,
	    b->roll->roll->width, b->roll->left);
}

static void finish_group(struct build *b, struct group *group)
{
	const struct strip *last = &b->strips[b->n - 1];

	*group = (struct group){.first = b->first, .last = b->first + b->n - 1};
	group->strip = b->strips;
	group->flat = b->roll->stock->flat;
	group->used = last->at + last->height;
	group->n_steps = b->n_steps;
	group->steps =
	    arena_array(b->sheet->arena, b->n_steps, sizeof(*group->steps));
	memcpy(group->steps, b->steps, b->n_steps * sizeof(*group->steps));
	for (size_t i = 0; i < b->n_steps; i++)
		group->n_tears += b->steps[i].number > 0;
}

/* n strips of the roll that are torn alike, from index first; gap: what lies before them. */
static void build_group(
    struct build *b, size_t first, size_t n, length gap, struct group *group)
{
	b->strips = &b->roll->roll->strips[first];
	b->first = first + 1;
	b->n = n;
	b->n_steps = 0;
	if (gap > 0) {
		b->n = 1;
		struct step *step = add_tear(b, STEP_GAP, OFF_WASTE, gap);
		set_size(step, b->roll->roll->width, gap);
		b->n = n;
	}
	tear_strips(b);
	tear_segments(b);
	for (size_t s = 0; s < b->strips[0].n_segments; s++) {
		if (is_whole(&b->strips[0], &b->strips[0].segments[s]))
			continue;
		tear_stack(b, s);
		tear_trims(b, s);
	}
	if (first + n == b->roll->roll->n_strips && b->roll->left > 0)
		leave_roll(b);
	finish_group(b, group);
}

static bool placed_alike(const struct segment *a, const struct segment *b)
{
	if (a->at != b->at || a->width != b->width ||
	    a->n_pieces != b->n_pieces)
		return false;
	for (size_t i = 0; i < a->n_pieces; i++) {
		const struct placed *p = &a->pieces[i], *q = &b->pieces[i];
		if (p->at != q->at || p->across != q->across ||
		    p->along != q->along || p->turned != q->turned)
			return false;
	}
	return true;
}

static bool torn_alike(const struct strip *a, const struct strip *b)
{
	if (a->height != b->height || a->n_segments != b->n_segments)
		return false;
	for (size_t i = 0; i < a->n_segments; i++) {
		if (!placed_alike(&a->segments[i], &b->segments[i]))
			return false;
	}
	return true;
}

static void reach(struct sheet_roll *roll, const struct strip *strip)
{
	for (size_t s = 0; s < strip->n_segments; s++) {
		length end = strip->segments[s].at + strip->segments[s].width;
		if (end > roll->need_width)
			roll->need_width = end;
	}
	roll->need_length = strip->at + strip->height;
}

static void build_groups(struct build *b)
{
	const struct roll *roll = b->roll->roll;
	length done = 0;

	b->roll->left = roll->length;
	if (roll->n_strips > 0)
		b->roll->left -= roll->strips[roll->n_strips - 1].at +
				 roll->strips[roll->n_strips - 1].height;
	b->roll->groups = arena_array(
	    b->sheet->arena, roll->n_strips, sizeof(*b->roll->groups));
	for (size_t i = 0; i < roll->n_strips;) {
		const struct strip *strip = &roll->strips[i];
		size_t n = 1;
		while (i + n < roll->n_strips && torn_alike(strip, &strip[n]) &&
		       strip[n].at == strip[n - 1].at + strip[n - 1].height)
			n++;
		build_group(b, i, n, strip->at - done,
		    &b->roll->groups[b->roll->n_groups++]);
		for (size_t k = i; k < i + n; k++)
			reach(b->roll, &roll->strips[k]);
		i += n;
		done = roll->strips[i - 1].at + roll->strips[i - 1].height;
	}
}

static void build_roll(struct build *b, const struct roll *roll)
{
	const struct sheet_stock *names = b->paper->stock;
	struct sheet_roll *out = &b->sheet->rolls[b->sheet->n_rolls++];

	out->number = b->sheet->n_rolls;
	out->paper = b->paper_index;
	out->roll = roll;
	out->stock = &b->paper->problem->stock[roll->stock];
	out->label = names && names[roll->stock].label
			 ? names[roll->stock].label
			 : out->stock->name;
	out->lot =
	    names && names[roll->stock].lot ? names[roll->stock].lot : "";
	out->place =
	    names && names[roll->stock].place ? names[roll->stock].place : "";
	out->label = sheet_line(b->sheet->arena, out->label);
	out->lot = sheet_line(b->sheet->arena, out->lot);
	out->place = sheet_line(b->sheet->arena, out->place);
	b->roll = out;
	build_groups(b);
}

static void build_takes(struct sheet *sheet)
{
	sheet->takes = arena_array(
	    sheet->arena, sheet->n_rolls + 1, sizeof(*sheet->takes));
	for (size_t i = 0; i < sheet->n_rolls; i++) {
		const struct sheet_roll *roll = &sheet->rolls[i];
		size_t k = 0;
		while (k < sheet->n_takes &&
		       (sheet->takes[k].paper != roll->paper ||
			   sheet->takes[k].stock != roll->roll->stock))
			k++;
		if (k == sheet->n_takes)
			sheet->takes[sheet->n_takes++] = (struct take){
			    .paper = roll->paper,
			    .stock = roll->roll->stock,
			    .first_roll = roll->number,
			};
		sheet->takes[k].count++;
	}
}

/* Every text of the input as a line; papers are copied for their names. */
static void set_lines(struct sheet *sheet, struct sheet_input *copy)
{
	const char **texts[] = {&copy->studio, &copy->workshop, &copy->check,
	    &copy->closing, &copy->tear_on, &copy->flat_on, &copy->open_on,
	    &copy->made, &copy->side_up, &copy->rules, &copy->shelf_url};
	struct sheet_paper *papers =
	    arena_array(sheet->arena, copy->n_papers + 1, sizeof(*papers));

	for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); i++)
		*texts[i] = sheet_line(sheet->arena, *texts[i]);
	for (size_t i = 0; i < copy->n_papers; i++) {
		papers[i] = copy->papers[i];
		papers[i].name = papers[i].name
				     ? sheet_line(sheet->arena, papers[i].name)
				     : "";
	}
	copy->papers = papers;
}

static void set_defaults(struct sheet *sheet, const struct sheet_input *input)
{
	struct sheet_input *copy = arena_alloc(sheet->arena, sizeof(*copy));
	char check[SHEET_CHECK_MAX];

	*copy = *input;
	set_lines(sheet, copy);
	if (copy->step <= 0)
		copy->step = copy->system == MEASURE_INCH ? INCH / 16 : MM;
	sheet->input = copy;
	sheet->ruler =
	    (struct ruler){.system = copy->system, .step = copy->step};
	sheet->check = arena_strdup(sheet->arena,
	    copy->check ? copy->check : sheet_check(check, input));
}

struct sheet *sheet_new(const struct sheet_input *input)
{
	struct arena *arena = arena_new(MODEL_MAX);
	struct sheet *sheet = arena_alloc(arena, sizeof(*sheet));
	struct build build = {.sheet = sheet};
	size_t n_rolls = 0;

	sheet->arena = arena;
	sheet->drawn = arena_alloc(arena, sizeof(struct canvas *));
	set_defaults(sheet, input);
	for (size_t i = 0; i < input->n_papers; i++)
		n_rolls += input->papers[i].plan->n_rolls;
	sheet->rolls = arena_array(arena, n_rolls, sizeof(*sheet->rolls));
	for (size_t i = 0; i < input->n_papers; i++) {
		build.paper = &input->papers[i];
		build.paper_index = i;
		for (size_t r = 0; r < build.paper->plan->n_rolls; r++)
			build_roll(&build, &build.paper->plan->rolls[r]);
	}
	free(build.steps);
	build_takes(sheet);
	sheet_pick(sheet);
	return sheet;
}

void sheet_delete(struct sheet *sheet)
{
	if (!sheet)
		return;
	canvas_delete(*sheet->drawn);
	arena_delete(sheet->arena);
}

bool sheet_kept(const struct sheet *sheet, size_t index, struct sheet_kept *out)
{
	if (index >= sheet->n_shelf)
		return false;

	const struct shelf *item = &sheet->shelf[index];
	const struct sheet_roll *roll = &sheet->rolls[item->roll - 1];
	size_t in_paper = 0;

	for (const struct sheet_roll *r = sheet->rolls; r < roll; r++)
		in_paper += r->paper == roll->paper;
	*out = (struct sheet_kept){.code = item->code,
	    .count = item->count,
	    .across = item->across,
	    .along = item->along,
	    .paper = roll->paper,
	    .roll = in_paper,
	    .is_rest = item->first == 0};
	return true;
}

struct sheet_count sheet_count(const struct sheet *sheet)
{
	struct sheet_count n = {
	    .rolls = (int64_t)sheet->n_rolls, .tears = sheet->n_tears};

	for (size_t i = 0; i < sheet->n_rolls; i++)
		n.strips += (int64_t)sheet->rolls[i].roll->n_strips;
	for (size_t i = 0; i < sheet->n_hands; i++)
		n.pieces += sheet->hands[i].count;
	return n;
}
