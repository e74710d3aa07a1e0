/* SPDX-License-Identifier: MIT */
/*
 * phrase.c - the few words inside a step, the same in every form.
 */
#include "notes.h"

#include <stdio.h>
#include <string.h>

#include "catalogue.h"

static bool off_the_roll(const struct step *step)
{
	return step->kind == STEP_GAP || step->kind == STEP_STRIP;
}

bool phrase_from_changes(const struct step *before, const struct step *step)
{
	if (!before || off_the_roll(before) != off_the_roll(step))
		return true;
	if (off_the_roll(step))
		return step->number == 0 && step->off != OFF_STRIP;
	if (before->kind != step->kind)
		return true;
	if (step->kind == STEP_SEGMENT)
		return false;
	return before->segment != step->segment ||
	       (step->kind == STEP_TRIM && before->part != step->part);
}

/* True when the segment was torn into parts before this step. */
static bool is_in_parts(const struct group *group, const struct step *step)
{
	const struct segment *segment =
	    &group->strip->segments[step->segment - 1];

	return segment->n_pieces > 1 ||
	       segment->pieces[0].along < group->strip->height;
}

const char *phrase_from(
    const struct group *group, const struct step *step, struct arena *arena)
{
	bool one = group->first == group->last;

	switch (step->kind) {
	case STEP_GAP:
	case STEP_STRIP:
		if (step->number == 0 && step->off != OFF_STRIP)
			return group->flat ? _("Left of the sheet")
					   : _("Left on the roll");
		return group->flat ? _("Off the sheet, from its near edge")
				   : _("Off the roll, from its near edge");
	case STEP_SEGMENT:
		return one ? _("Off the strip, from its left edge")
			   : _("Off each strip, from its left edge");
	case STEP_STACK:
		return arena_printf(arena,
		    _("Off segment %zu, from its near edge"), step->segment);
	case STEP_TRIM:
		if (is_in_parts(group, step))
			return arena_printf(arena,
			    _("Segment %zu part %zu to its width, from its "
			      "left edge"),
			    step->segment, step->part);
		return arena_printf(arena,
		    _("Segment %zu to its width, from its left edge"),
		    step->segment);
	}
	return "";
}

const char *phrase_edge(const struct step *step)
{
	return step->kind == STEP_SEGMENT || step->kind == STEP_TRIM
		   ? _("left")
		   : _("near");
}

const char *phrase_off(const struct sheet *sheet, const struct step *step,
    const char *times, struct arena *arena)
{
	char size[MARK_TEXT_MAX];

	mark_print_size(size, step->across, step->along, &sheet->ruler, times);
	switch (step->off) {
	case OFF_STRIP:
		return arena_printf(arena, _("strip %s"), size);
	case OFF_SEGMENT:
		return arena_printf(arena,
		    _("segment %zu, %s, torn again below"), step->segment,
		    size);
	case OFF_PART:
		return arena_printf(
		    arena, _("part %zu, %s, trimmed below"), step->part, size);
	case OFF_PIECE:
		return arena_printf(arena, _("piece %s%s%s"), size,
		    step->turned ? _(", lies turned") : "",
		    step->larger ? _(", stays larger") : "");
	case OFF_WASTE:
		return step->kind == STEP_GAP
			   ? arena_printf(arena, _("set aside %s"), size)
			   : arena_printf(arena, _("waste %s"), size);
	case OFF_KEEP:
		return arena_printf(arena, _("keep %s: %s"), size,
		    sheet->shelf[step->kept].code);
	}
	return "";
}

const char *phrase_tick(const struct sheet *sheet, const struct tick *tick)
{
	if (tick->member != NOBODY)
		return sheet->hands[tick->member].code;
	return "";
}

/* The same mark on the other side of the ruler: exactly, or the lines beside it. */
static const char *other_side(
    const struct sheet *sheet, length mark, struct arena *arena)
{
	bool inch = sheet->input->system == MEASURE_INCH;
	struct ruler exact = {
	    inch ? MEASURE_MM : MEASURE_INCH, inch ? MM / 10 : INCH / 64};
	char buf[LENGTH_TEXT_MAX], between[MARK_TEXT_MAX];

	if (length_on_ruler(mark, exact.step)) {
		mark_print(buf, mark, &exact);
		return arena_printf(arena, "= %s", buf);
	}
	exact.step = inch ? MM / 2 : INCH / 32;
	return arena_printf(arena, _("on the other side %s"),
	    mark_between(between, mark, &exact));
}

const char *phrase_mark(
    const struct sheet *sheet, const struct step *step, struct arena *arena)
{
	char buf[LENGTH_TEXT_MAX], between[MARK_TEXT_MAX];
	bool inch = sheet->input->system == MEASURE_INCH,
	     both = sheet->input->both;
	const char *side = inch ? _("use the mm side of the ruler")
				: _("use the inch side of the ruler");

	switch (mark_print(buf, step->mark, &sheet->ruler)) {
	case MARK_ON_RULER:
		return both ? other_side(sheet, step->mark, arena) : NULL;
	case MARK_OTHER_SIDE:
		return both ? arena_printf(arena,
				  _("%s; on the first side it lies %s"), side,
				  mark_between(
				      between, step->mark, &sheet->ruler))
			    : side;
	case MARK_BETWEEN:
		return arena_printf(arena, _("exact; on your ruler it lies %s"),
		    mark_between(between, step->mark, &sheet->ruler));
	}
	return NULL;
}

const char *phrase_size(const struct sheet *sheet, length across, length along,
    const char *times, struct arena *arena)
{
	bool inch = sheet->input->system == MEASURE_INCH;
	struct ruler other = {
	    inch ? MEASURE_MM : MEASURE_INCH, inch ? MM / 10 : INCH / 64};
	char own[MARK_TEXT_MAX], more[MARK_TEXT_MAX];

	mark_print_size(own, across, along, &sheet->ruler, times);
	if (!sheet->input->both || !length_on_ruler(across, other.step) ||
	    !length_on_ruler(along, other.step))
		return arena_strdup(arena, own);
	mark_print_size(more, across, along, &other, times);
	if (strcmp(own, more) == 0)
		return arena_strdup(arena, own);
	return arena_printf(arena, "%s (%s)", own, more);
}

const char *phrase_group(
    const struct sheet *sheet, const struct group *group, struct arena *arena)
{
	char height[LENGTH_TEXT_MAX];

	mark_print(height, group->strip->height, &sheet->ruler);
	if (group->first == group->last)
		return arena_printf(
		    arena, _("strip %zu: %s"), group->first, height);
	return arena_printf(arena,
	    _("strips %zu-%zu: %zu times alike, %s each"), group->first,
	    group->last, group->last - group->first + 1, height);
}

const char *phrase_roll_size(const struct sheet *sheet,
    const struct sheet_roll *roll, const char *times, struct arena *arena)
{
	return phrase_size(
	    sheet, roll->roll->width, roll->roll->length, times, arena);
}

const char *phrase_name(
    const struct sheet *sheet, size_t roll, struct arena *arena)
{
	bool flat = sheet->rolls[roll - 1].stock->flat;

	return arena_printf(arena, flat ? _("sheet %zu") : _("roll %zu"), roll);
}

const char *phrase_name_first(
    const struct sheet *sheet, size_t roll, struct arena *arena)
{
	bool flat = sheet->rolls[roll - 1].stock->flat;

	return arena_printf(arena, flat ? _("Sheet %zu") : _("Roll %zu"), roll);
}

const char *phrase_roll(const struct sheet *sheet,
    const struct sheet_roll *roll, struct arena *arena)
{
	return arena_printf(arena, _("%s of %zu, %s"),
	    phrase_name_first(sheet, roll->number, arena), sheet->n_rolls,
	    sheet->input->papers[roll->paper].name);
}

const char *phrase_heading(const struct sheet *sheet,
    const struct sheet_roll *roll, const struct group *group,
    struct arena *arena)
{
	return arena_printf(arena, "%s, %s",
	    phrase_name_first(sheet, roll->number, arena),
	    phrase_group(sheet, group, arena));
}

const char *phrase_spots(
    const struct sheet *sheet, const struct pick *pick, struct arena *arena)
{
	struct text t;
	const char *out;

	text_init(&t, 1 << 20);
	for (size_t i = 0; i < (size_t)pick->count;) {
		size_t roll = pick->spots[i].roll, first = pick->spots[i].strip,
		       last = first;
		bool new_roll = i == 0 || pick->spots[i - 1].roll != roll;

		for (i++;
		     i < (size_t)pick->count && pick->spots[i].roll == roll &&
		     pick->spots[i].strip <= last + 1;
		     i++)
			last = pick->spots[i].strip;
		if (new_roll)
			text_addf(&t, _("%s%s strip "), t.len ? "; " : "",
			    phrase_name(sheet, roll, arena));
		else
			text_add(&t, ", ");
		if (first == last)
			text_addf(&t, "%zu", first);
		else
			text_addf(&t, "%zu-%zu", first, last);
	}
	out = arena_strdup(arena, t.data);
	text_free(&t);
	return out;
}

const char *phrase_shelf(const struct sheet *sheet, const struct shelf *item,
    const char *times, struct arena *arena)
{
	const char *name = phrase_name(sheet, item->roll, arena);
	const struct sheet_roll *roll = &sheet->rolls[item->roll - 1];
	const char *paper = sheet->input->papers[roll->paper].name, *from;
	const char *size =
	    phrase_size(sheet, item->across, item->along, times, arena);

	if (item->first == 0)
		from = arena_printf(arena, _("left of %s"), name);
	else if (item->first == item->last)
		from =
		    arena_printf(arena, _("%s strip %zu"), name, item->first);
	else
		from = arena_printf(arena, _("%s strips %zu-%zu"), name,
		    item->first, item->last);
	if (item->count > 1)
		return arena_printf(arena, _("%lld of %s, %s, %s"),
		    (long long)item->count, size, paper, from);
	return arena_printf(arena, "%s, %s, %s", size, paper, from);
}

const char *phrase_pick(const struct sheet *sheet, const struct pick *pick,
    const char *times, struct arena *arena)
{
	const struct sheet_paper *paper = &sheet->input->papers[pick->paper];
	const struct piece *piece = &paper->problem->pieces[pick->piece];

	return arena_printf(arena, _("%lld of %s, %s; %s"),
	    (long long)pick->count,
	    phrase_size(sheet, piece->across, piece->along, times, arena),
	    paper->name, phrase_spots(sheet, pick, arena));
}

const char *phrase_missing(const struct sheet *sheet, const struct pick *pick,
    const char *times, struct arena *arena)
{
	const struct sheet_paper *paper = &sheet->input->papers[pick->paper];
	const struct piece *piece = &paper->problem->pieces[pick->piece];

	return arena_printf(arena, _("NOT in this plan: %lld of %s, %s"),
	    (long long)pick->missing,
	    phrase_size(sheet, piece->across, piece->along, times, arena),
	    paper->name);
}

const char *phrase_picture(const struct sheet *sheet, const struct pick *pick,
    const char *times, struct arena *arena)
{
	const struct sheet_request *requests =
	    sheet->input->papers[pick->paper].requests;
	const struct sheet_request *r =
	    requests ? &requests[pick->piece] : NULL;

	if (!r || r->finished_across <= 0 || r->finished_along <= 0)
		return NULL;
	return arena_printf(arena, _("for a picture of %s"),
	    phrase_size(
		sheet, r->finished_across, r->finished_along, times, arena));
}

const char *phrase_rolls(const struct sheet *sheet)
{
	bool flat = false, roll = false;

	for (size_t i = 0; i < sheet->n_rolls; i++) {
		flat |= sheet->rolls[i].stock->flat;
		roll |= !sheet->rolls[i].stock->flat;
	}
	if (flat && roll)
		return _("rolls and sheets");
	if (sheet->n_rolls == 1)
		return flat ? _("sheet") : _("roll");
	return flat ? _("sheets") : _("rolls");
}
