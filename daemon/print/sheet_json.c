/* SPDX-License-Identifier: MIT */
/*
 * sheet_json.c - the tear sheet for a program: the same steps, marks and sentences.
 *
 * Lengths come twice, as whole numbers of 1/320 mm and as printed, so that a program may
 * compute with the one and show the other.
 */
#include <jansson.h>

#include "notes.h"
#include "catalogue.h"

struct maker {
	const struct sheet *sheet;
	struct arena *arena;
};

static json_t *text_or_null(const char *s)
{
	return s && *s ? json_string(s) : json_null();
}

static void set_length(struct maker *m, json_t *o, const char *name, length l)
{
	char buf[LENGTH_TEXT_MAX];

	json_object_set_new(
	    o, arena_printf(m->arena, "%s_u", name), json_integer(l));
	mark_print(buf, l, &m->sheet->ruler);
	json_object_set_new(o, name, json_string(buf));
}

static void set_size(struct maker *m, json_t *o, length across, length along)
{
	set_length(m, o, "across", across);
	set_length(m, o, "along", along);
}

static json_t *make_notes(const struct notes *notes)
{
	static const char *const kinds[] = {[NOTE_LINE] = "line",
	    [NOTE_BOX] = "box",
	    [NOTE_BOLD] = "box",
	    [NOTE_UNDER] = "under"};
	json_t *list = json_array();

	for (size_t i = 0; i < notes->n; i++)
		json_array_append_new(list,
		    json_pack("{s:s, s:s}", "kind", kinds[notes->notes[i].kind],
			"text", notes->notes[i].text));
	return list;
}

static json_t *make_section(struct maker *m,
    void (*fill)(const struct sheet *, struct arena *, struct notes *))
{
	struct notes notes = {0};

	fill(m->sheet, m->arena, &notes);
	return make_notes(&notes);
}

static json_t *make_boxes(struct maker *m, const struct step *step)
{
	json_t *list = json_array();

	for (size_t i = 0; i < step->n_ticks; i++) {
		const struct tick *tick = &step->ticks[i];
		json_t *box = json_object();
		json_object_set_new(box, "strip",
		    tick->strip ? json_integer((json_int_t)tick->strip)
				: json_null());
		json_object_set_new(
		    box, "code", text_or_null(phrase_tick(m->sheet, tick)));
		json_array_append_new(list, box);
	}
	return list;
}

static json_t *number_or_null(size_t n)
{
	return n > 0 ? json_integer((json_int_t)n) : json_null();
}

static bool is_from_left(const struct step *step)
{
	return step->kind == STEP_SEGMENT || step->kind == STEP_TRIM;
}

static json_t *make_step(
    struct maker *m, const struct group *group, const struct step *step)
{
	static const char *const offs[] = {[OFF_STRIP] = "strip",
	    [OFF_SEGMENT] = "segment",
	    [OFF_PART] = "part",
	    [OFF_PIECE] = "piece",
	    [OFF_WASTE] = "waste",
	    [OFF_KEEP] = "keep"};
	json_t *o = json_object();

	json_object_set_new(o, "number", number_or_null((size_t)step->number));
	json_object_set_new(
	    o, "from", json_string(phrase_from(group, step, m->arena)));
	if (step->number > 0) {
		json_object_set_new(o, "edge",
		    json_string(is_from_left(step) ? "left" : "near"));
		set_length(m, o, "mark", step->mark);
		json_object_set_new(o, "remark",
		    text_or_null(phrase_mark(m->sheet, step, m->arena)));
	}
	json_object_set_new(o, "off", json_string(offs[step->off]));
	json_object_set_new(o, "segment", number_or_null(step->segment));
	json_object_set_new(o, "part", number_or_null(step->part));
	set_size(m, o, step->across, step->along);
	json_object_set_new(o, "turned", json_boolean(step->turned));
	json_object_set_new(o, "larger", json_boolean(step->larger));
	json_object_set_new(o, "shelf",
	    step->kept != NOT_KEPT
		? json_string(m->sheet->shelf[step->kept].code)
		: json_null());
	json_object_set_new(o, "boxes", make_boxes(m, step));
	return o;
}

static json_t *make_group(
    struct maker *m, const struct sheet_roll *roll, const struct group *group)
{
	struct notes notes = {0};
	json_t *o = json_object(), *steps = json_array();

	json_object_set_new(o, "first", json_integer((json_int_t)group->first));
	json_object_set_new(o, "last", json_integer((json_int_t)group->last));
	set_length(m, o, "height", group->strip->height);
	set_length(m, o, "used", group->used);
	notes_group(m->sheet, roll, group, m->arena, &notes);
	json_object_set_new(o, "notes", make_notes(&notes));
	for (size_t i = 0; i < group->n_steps; i++)
		json_array_append_new(
		    steps, make_step(m, group, &group->steps[i]));
	json_object_set_new(o, "steps", steps);
	return o;
}

static json_t *make_roll(struct maker *m, const struct sheet_roll *roll)
{
	struct notes notes = {0};
	json_t *o = json_object(), *groups = json_array();

	json_object_set_new(
	    o, "number", json_integer((json_int_t)roll->number));
	json_object_set_new(o, "paper",
	    text_or_null(m->sheet->input->papers[roll->paper].name));
	json_object_set_new(o, "label", text_or_null(roll->label));
	json_object_set_new(o, "lot", text_or_null(roll->lot));
	json_object_set_new(o, "place", text_or_null(roll->place));
	set_length(m, o, "width", roll->roll->width);
	set_length(m, o, "length", roll->roll->length);
	set_length(m, o, "need_width", roll->need_width);
	set_length(m, o, "need_length", roll->need_length);
	notes_roll(m->sheet, roll, m->arena, &notes);
	json_object_set_new(o, "notes", make_notes(&notes));
	for (size_t i = 0; i < roll->n_groups; i++)
		json_array_append_new(
		    groups, make_group(m, roll, &roll->groups[i]));
	json_object_set_new(o, "groups", groups);
	return o;
}

static json_t *make_pick(struct maker *m, const struct pick *pick)
{
	const struct sheet_paper *paper = &m->sheet->input->papers[pick->paper];
	const struct piece *piece = &paper->problem->pieces[pick->piece];
	json_t *o = json_object(), *where = json_array();

	json_object_set_new(o, "paper", text_or_null(paper->name));
	set_size(m, o, piece->across, piece->along);
	json_object_set_new(o, "count", json_integer(pick->count));
	json_object_set_new(o, "missing", json_integer(pick->missing));
	for (size_t i = 0; i < (size_t)pick->count; i++)
		json_array_append_new(
		    where, json_pack("{s:I, s:I}", "roll",
			       (json_int_t)pick->spots[i].roll, "strip",
			       (json_int_t)pick->spots[i].strip));
	json_object_set_new(o, "where", where);
	return o;
}

static json_t *make_hand(struct maker *m, const struct sheet_hand *hand)
{
	json_t *o = json_object(), *picks = json_array();

	json_object_set_new(o, "code", json_string(hand->code));
	json_object_set_new(o, "name", text_or_null(hand->name));
	json_object_set_new(o, "pieces", json_integer(hand->count));
	for (size_t i = 0; i < hand->n_picks; i++)
		json_array_append_new(picks, make_pick(m, &hand->picks[i]));
	json_object_set_new(o, "picks", picks);
	return o;
}

static json_t *make_shelf(struct maker *m, const struct shelf *item)
{
	const struct sheet_roll *roll = &m->sheet->rolls[item->roll - 1];
	json_t *o = json_object();

	json_object_set_new(o, "code", json_string(item->code));
	json_object_set_new(o, "count", json_integer(item->count));
	json_object_set_new(o, "paper",
	    text_or_null(m->sheet->input->papers[roll->paper].name));
	set_size(m, o, item->across, item->along);
	json_object_set_new(o, "roll", json_integer((json_int_t)item->roll));
	json_object_set_new(o, "first_strip", number_or_null(item->first));
	json_object_set_new(o, "last_strip", number_or_null(item->last));
	return o;
}

static json_t *make_head(struct maker *m)
{
	const struct sheet_input *input = m->sheet->input;
	json_t *o = json_object();

	json_object_set_new(o, "studio", text_or_null(input->studio));
	json_object_set_new(o, "workshop", text_or_null(input->workshop));
	json_object_set_new(o, "plan", number_or_null((size_t)input->number));
	json_object_set_new(o, "check", json_string(m->sheet->check));
	json_object_set_new(o, "superseded", json_boolean(input->superseded));
	json_object_set_new(o, "language", json_string(catalogue_language()));
	json_object_set_new(o, "closing", text_or_null(input->closing));
	json_object_set_new(o, "tear_on", text_or_null(input->tear_on));
	json_object_set_new(o, "flat_on", text_or_null(input->flat_on));
	json_object_set_new(o, "open_on", text_or_null(input->open_on));
	set_length(m, o, "ruler_step", input->step);
	json_object_set_new(o, "steps", json_integer(m->sheet->n_steps));
	json_object_set_new(o, "tears", json_integer(m->sheet->n_tears));
	return o;
}

static int on_bytes(const char *bytes, size_t len, void *ctx)
{
	text_add_bytes(ctx, bytes, len);
	return 0;
}

void sheet_json(const struct sheet *sheet, struct text *out)
{
	struct maker m = {.sheet = sheet, .arena = arena_new((size_t)1 << 31)};
	json_t *o = NULL, *rolls = json_array(), *hands = json_array(),
	       *shelf = json_array();

	catalogue_use(sheet->input->language);
	o = make_head(&m);
	json_object_set_new(o, "before", make_section(&m, notes_before));
	json_object_set_new(o, "measure", make_section(&m, notes_measure));
	json_object_set_new(o, "method", make_section(&m, notes_method));
	json_object_set_new(o, "cautions", make_section(&m, notes_cautions));
	for (size_t i = 0; i < sheet->n_rolls; i++)
		json_array_append_new(rolls, make_roll(&m, &sheet->rolls[i]));
	json_object_set_new(o, "rolls", rolls);
	for (size_t i = 0; i < sheet->n_hands; i++)
		json_array_append_new(hands, make_hand(&m, &sheet->hands[i]));
	json_object_set_new(o, "hands", hands);
	for (size_t i = 0; i < sheet->n_shelf; i++)
		json_array_append_new(shelf, make_shelf(&m, &sheet->shelf[i]));
	json_object_set_new(o, "shelf", shelf);
	json_object_set_new(o, "after", make_section(&m, notes_after));
	json_object_set_new(o, "care", make_section(&m, notes_care));
	json_dump_callback(o, on_bytes, out, JSON_INDENT(1));
	text_add_char(out, '\n');
	json_decref(o);
	arena_delete(m.arena);
}
