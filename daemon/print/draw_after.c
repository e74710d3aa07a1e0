/* SPDX-License-Identifier: MIT */
/*
 * draw_after.c - when the last piece is off: who gets what, what goes back, how it dries flat,
 * and on which page a strip is.
 */
#include "draw.h"
#include "catalogue.h"

static double draw_hand_head(struct flow *f, const struct sheet_hand *hand)
{
	struct style bold = style_of(f, 17, true),
		     plain = style_of(f, BODY, false);
	struct box plate = {f->left + px(f, 24), f->y, px(f, 52), px(f, 24)};
	double x = plate.x + plate.w + px(f, 10), right = px(f, 80);
	double room = f->left + f->width - right - x;

	flow_box(f, f->left, f->y + px(f, 4), px(f, 15));
	canvas_rect(f->canvas, plate, FILL_WHITE, px(f, 1.6));
	flow_label(f, plate, &bold, hand->code);
	bold.size = px(f, 14);
	/* as wide as the name: one that runs from right to left stays beside its code */
	double width = canvas_measure(f->canvas, 0, &bold, hand->name).w + 2;
	if (*hand->name)
		canvas_text(f->canvas,
		    (struct box){x, f->y + px(f, 3),
			width < room ? width : room, px(f, 22)},
		    &bold, hand->name);
	plain.align = ALIGN_RIGHT;
	canvas_text(f->canvas,
	    (struct box){
		f->left + f->width - right, f->y + px(f, 4), right, px(f, 20)},
	    &plain,
	    arena_printf(f->arena,
		hand->count == 1 ? _("%lld piece") : _("%lld pieces"),
		(long long)hand->count));
	return px(f, 28);
}

static void draw_pick(struct flow *f, const struct pick *pick)
{
	struct note lines[3];
	struct notes notes = {.notes = lines};
	double left = f->left, width = f->width;
	const char *picture = phrase_picture(f->sheet, pick, "×", f->arena);

	if (pick->count > 0)
		lines[notes.n++] = (struct note){
		    NOTE_BOX, phrase_pick(f->sheet, pick, "×", f->arena)};
	if (pick->count > 0 && picture)
		lines[notes.n++] = (struct note){NOTE_UNDER, picture};
	if (pick->missing > 0)
		lines[notes.n++] = (struct note){
		    NOTE_UNDER, phrase_missing(f->sheet, pick, "×", f->arena)};
	f->left += px(f, 86);
	f->width -= px(f, 86);
	flow_notes(f, &notes);
	f->left = left;
	f->width = width;
}

static void draw_hands(struct flow *f)
{
	f->section = _("Pick list");
	flow_page(f);
	flow_heading(f, 1, _("Pick list: what each one gets"));
	for (size_t i = 0; i < f->sheet->n_hands; i++) {
		const struct sheet_hand *hand = &f->sheet->hands[i];
		if (hand->n_picks == 0)
			continue;
		flow_need(f, px(f, 64));
		flow_gap(f, 6);
		f->y += draw_hand_head(f, hand);
		for (size_t k = 0; k < hand->n_picks; k++)
			draw_pick(f, &hand->picks[k]);
		canvas_line(f->canvas, f->left, f->y, f->left + f->width, f->y,
		    0.4, false);
	}
}

static void draw_shelf_item(struct flow *f, const struct shelf *item)
{
	const char *url = f->sheet->input->shelf_url;
	const char *what = phrase_shelf(f->sheet, item, "×", f->arena);
	struct style bold = style_of(f, 15, true),
		     plain = style_of(f, BODY, false);
	double qr = url && *url ? px(f, 58) : 0;
	double x = f->left + px(f, 24), width = f->width - px(f, 24) - qr;

	plain.wrap = true;
	double height =
	    px(f, 26) + canvas_measure(f->canvas, width, &plain, what).h;
	if (height < qr)
		height = qr;
	flow_need(f, height + px(f, 6));
	flow_box(f, f->left, f->y + px(f, 2), px(f, 15));
	canvas_text(f->canvas, (struct box){x, f->y, width, px(f, 22)}, &bold,
	    item->code);
	canvas_text(f->canvas, (struct box){x, f->y + px(f, 21), width, 0},
	    &plain, what);
	if (qr > 0) {
		double side = qr - px(f, 6);
		canvas_qr(f->canvas,
		    (struct box){f->left + f->width - side, f->y, side, side},
		    arena_printf(f->arena, "%s%s", url, item->code));
	}
	f->y += height;
	canvas_line(
	    f->canvas, f->left, f->y, f->left + f->width, f->y, 0.4, false);
	flow_gap(f, 6);
}

static void draw_shelf(struct flow *f)
{
	if (f->sheet->n_shelf == 0)
		return;
	f->section = _("Back on the shelf");
	flow_need(f, px(f, 160)); /* the heading with the first of them */
	flow_heading(f, 1, _("Back on the shelf: write the code on it"));
	for (size_t i = 0; i < f->sheet->n_shelf; i++)
		draw_shelf_item(f, &f->sheet->shelf[i]);
}

static void draw_section(struct flow *f, const char *name,
    void (*fill)(const struct sheet *, struct arena *, struct notes *))
{
	struct notes notes = {0};

	fill(f->sheet, f->arena, &notes);
	flow_heading(f, 1, name);
	flow_notes(f, &notes);
}

/* To be laid on the stack: readable from the door. */
static void draw_card(struct flow *f)
{
	const struct sheet_input *input = f->sheet->input;
	struct style big = style_of(f, 24, true),
		     small = style_of(f, 14, false);
	double height = px(f, 150), line = px(f, 36);

	if (!input->open_on || !*input->open_on)
		return;
	flow_need(f, height);
	struct box card = {f->left, f->y, f->width, height - px(f, 10)};
	canvas_rect(f->canvas, card, FILL_WHITE, px(f, 2.5));
	struct box row = {
	    card.x + px(f, 8), card.y + px(f, 8), card.w - px(f, 16), line};
	flow_label(f, row, &big, _("Under weights. Do not open before"));
	row.y += line;
	flow_label(f, row, &big, input->open_on);
	row.y += line;
	row.h = px(f, 22);
	if (input->workshop && *input->workshop)
		flow_label(f, row, &small, input->workshop);
	row.y += row.h;
	if (input->number)
		flow_label(f, row, &small,
		    arena_printf(f->arena, _("Plan %lld, check %s"),
			(long long)input->number, f->sheet->check));
	f->y += height;
}

/* Where each strip is told: for whoever looks for one in fourteen pages. */
static void draw_index(struct flow *f)
{
	struct style plain = style_of(f, BODY, false);
	size_t group = 0;

	flow_heading(f, 1, _("Where each strip is"));
	for (size_t r = 0; r < f->sheet->n_rolls; r++) {
		const struct sheet_roll *roll = &f->sheet->rolls[r];
		for (size_t g = 0; g < roll->n_groups; g++, group++) {
			const struct group *gr = &roll->groups[g];
			const char *name = phrase_group(f->sheet, gr, f->arena);
			flow_text(f, &plain,
			    arena_printf(f->arena, _("Page %zu: %s, %s"),
				f->group_pages[group] + 1,
				phrase_name(f->sheet, roll->number, f->arena),
				name));
		}
	}
}

/* The page on which a strip is told. */
static size_t page_of(const struct flow *f, const struct spot *spot)
{
	size_t group = 0;

	for (size_t r = 0; r < f->sheet->n_rolls; r++) {
		const struct sheet_roll *roll = &f->sheet->rolls[r];
		for (size_t g = 0; g < roll->n_groups; g++, group++) {
			if (roll->number == spot->roll &&
			    roll->groups[g].first <= spot->strip &&
			    spot->strip <= roll->groups[g].last)
				return f->group_pages[group] + 1;
		}
	}
	return 0;
}

/* "A2: pages 4, 7" */
static const char *hand_pages(struct flow *f, const struct sheet_hand *hand)
{
	size_t n = f->canvas->n_pages + 2;
	bool *on = arena_array(f->arena, n, sizeof(*on));
	struct text t;

	for (size_t k = 0; k < hand->n_picks; k++) {
		for (size_t i = 0; i < (size_t)hand->picks[k].count; i++)
			on[page_of(f, &hand->picks[k].spots[i])] = true;
	}
	text_init(&t, 1 << 16);
	text_addf(&t, _("%s: page"), hand->code);
	for (size_t i = 1; i < n; i++) {
		if (on[i])
			text_addf(&t, " %zu", i);
	}
	const char *s = arena_strdup(f->arena, t.data);
	text_free(&t);
	return s;
}

static void draw_hand_index(struct flow *f)
{
	struct style plain = style_of(f, BODY, false);

	flow_heading(f, 1, _("Where each one's pieces are"));
	for (size_t i = 0; i < f->sheet->n_hands; i++) {
		if (f->sheet->hands[i].count > 0)
			flow_text(
			    f, &plain, hand_pages(f, &f->sheet->hands[i]));
	}
}

void draw_after(struct flow *f)
{
	draw_hands(f);
	draw_shelf(f);
	f->section = _("After the last tear");
	draw_section(f, _("Flattening"), notes_after);
	draw_card(f);
	draw_section(f, _("To take home"), notes_care);
	f->section = _("Index");
	draw_index(f);
	draw_hand_index(f);
}
