/* SPDX-License-Identifier: MIT */
/*
 * page_paper.c - papers, and what each can be bought or taken as.
 */
#include "pages.h"

#include <string.h>

#include "act_people.h"
#include "act_shelf.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "json_in.h"
#include "load.h"
#include "problem.h"
#include "read.h"
#include "say.h"

static const struct choice finishes[] = {
    {"cold press", "cold press"},
    {"hot press", "hot press"},
    {"rough", "rough"},
};

static bool may_change(const struct call *call)
{
	return call_has_role(call, ROLE_INSTRUCTOR | ROLE_OWNER);
}

/* ---- all papers ---- */

static void write_paper_fields(
    struct call *call, struct html *h, const struct paper_row *before)
{
	field_line(call, h,
	    &(struct field){.name = "name",
		.label = "Name of the paper",
		.hint = "As the class calls it: \"cold press 300\".",
		.value = before ? before->name : NULL});
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "weight_gsm",
		.label = "Weight in g/m\u00b2",
		.mode = "numeric",
		.small = true,
		.value =
		    before ? field_version(call, before->weight_gsm) : NULL});
	field_choose(call, h,
	    &(struct field){.name = "finish",
		.label = "Surface",
		.value = before ? before->finish : NULL},
	    finishes, sizeof finishes / sizeof finishes[0]);
	html_close(h, "div");
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "fibre",
		.label = "Fibre",
		.optional = true,
		.value = before ? before->fibre : NULL});
	field_line(call, h,
	    &(struct field){.name = "colour",
		.label = "Colour",
		.optional = true,
		.value = before ? before->colour : NULL});
	html_close(h, "div");
}

static bool read_paper(struct call *call, struct paper_row *paper)
{
	paper->name = read_line(call, "name", "the name", true, NAME_MAX_SIGNS);
	paper->weight_gsm =
	    read_number(call, "weight_gsm", "the weight", 1, WEIGHT_MAX);
	paper->finish =
	    read_line(call, "finish", "the surface", true, NAME_MAX_SIGNS);
	paper->fibre =
	    read_line(call, "fibre", "the fibre", false, NAME_MAX_SIGNS);
	paper->colour =
	    read_line(call, "colour", "the colour", false, NAME_MAX_SIGNS);
	return call->n_faults == 0;
}

static const char *stock_words(struct call *call, const struct stock_row *s)
{
	const char *number =
	    s->available == UNLIMITED
		? "as many as needed"
		: call_printf(call, "%lld there", (long long)s->available);

	return call_printf(call, "%s, %s, %s, %s", stock_kind_name(s->kind),
	    say_size(call, s->width_u, s->length_u),
	    say_money(call, s->price_minor), number);
}

static void write_stock_item(
    struct call *call, struct html *h, const struct stock_row *s)
{
	html_open(h, "li", NULL);
	html_open(h, "a", NULL);
	html_attrf(h, "href", "/stock/%lld", (long long)s->stock_id);
	html_name(h, s->name);
	html_close(h, "a");
	html_textf(h, ": %s%s", stock_words(call, s),
	    s->active ? "" : " (not used any more)");
	html_close(h, "li");
}

static void write_stock_of(struct call *call, struct html *h, int64_t paper_id)
{
	const struct loaded *l = loaded_of(call);
	bool any = false;

	for (size_t i = 0; i < l->n_stock; i++)
		any = any || l->stock[i].paper_id == paper_id;
	if (!any) {
		html_item(
		    h, "p", "Nothing is noted yet that it could be torn from.");
		return;
	}
	html_open(h, "ul", NULL);
	for (size_t i = 0; i < l->n_stock; i++)
		if (l->stock[i].paper_id == paper_id)
			write_stock_item(call, h, &l->stock[i]);
	html_close(h, "ul");
}

static void write_papers(struct call *call)
{
	const struct loaded *l = loaded_of(call);
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(
	    call, &h, &(struct frame){.title = "Papers", .here = "/papers"});
	if (l->n_papers)
		html_open(&h, "ul", "class", "cards", NULL);
	for (size_t i = 0; i < l->n_papers; i++) {
		const struct paper_row *p = &l->papers[i];

		html_open(&h, "li", NULL);
		html_open(&h, "h2", NULL);
		html_open(&h, "a", NULL);
		html_attrf(&h, "href", "/papers/%lld", (long long)p->paper_id);
		html_name(&h, p->name);
		html_close(&h, "a");
		html_close(&h, "h2");
		html_itemf(&h, "p", "%lld g/m\u00b2, %s%s",
		    (long long)p->weight_gsm, p->finish,
		    p->active ? "" : "; not used any more");
		write_stock_of(call, &h, p->paper_id);
		html_close(&h, "li");
	}
	if (l->n_papers)
		html_close(&h, "ul");
	if (may_change(call)) {
		html_item(&h, "h2", "Note another paper");
		field_form(call, &h, "/papers", NULL);
		write_paper_fields(call, &h, NULL);
		field_submit(&h, "Note this paper", false);
		field_form_end(&h);
	}
	frame_answer(call, status, &h);
}

static void with_papers(struct call *call)
{
	load_stock(call, 0, write_papers);
}

void page_papers(struct call *call)
{
	call->state = NULL;
	load_papers(call, with_papers);
}

static void on_paper_added(struct call *call, const struct paper_row *paper)
{
	call_answer_redirect(call, call_printf(call, "/papers/%lld?said=added",
				       (long long)paper->paper_id));
}

void page_papers_post(struct call *call)
{
	struct paper_row paper = {
	    .studio_id = call->caller.studio_id, .active = true};

	call->on_fail = page_papers;
	read_paper(call, &paper);
	if (!call_is_faulty(call))
		act_paper_add(call, &paper, on_paper_added);
}

/* ---- one paper ---- */

static const char *paper_path(struct call *call, const char *more)
{
	return call_printf(
	    call, "/papers/%lld%s", (long long)call->paper.paper_id, more);
}

static void write_kinds(
    struct call *call, struct html *h, const struct stock_row *before)
{
	static const struct choice kinds[] = {
	    {"fresh", "fresh roll"},
	    {"roll-end", "roll-end"},
	    {"offcut", "offcut"},
	    {"flat", "flat sheet"},
	};

	field_choose(call, h,
	    &(struct field){.name = "kind",
		.label = "What it is",
		.value = before ? stock_kind_name(before->kind) : NULL},
	    kinds, sizeof kinds / sizeof kinds[0]);
}

static const char *major_units(struct call *call, money m)
{
	char text[MONEY_TEXT_MAX];
	const char *whole = call_printf(
	    call, "%s", money_print(text, m, call->caller.studio.currency));

	return call_printf(call, "%.*s", (int)strcspn(whole, " "), whole);
}

static void write_stock_fields(
    struct call *call, struct html *h, const struct stock_row *s)
{
	write_kinds(call, h, s);
	field_line(call, h,
	    &(struct field){.name = "stock-name",
		.label = "Name",
		.hint = "As it stands on the tear sheet: \"45 in roll\".",
		.value = s ? s->name : NULL});
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "width",
		.label = "Width",
		.hint = "As measured, with its unit: 45 in.",
		.value = s ? say_length(call, s->width_u) : NULL});
	field_line(call, h,
	    &(struct field){.name = "length",
		.label = "Length",
		.hint = "With its unit: 10 yd, 9.15 m.",
		.value = s ? say_length(call, s->length_u) : NULL});
	html_close(h, "div");
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "price_minor",
		.label = call_printf(
		    call, "Price in %s", call->caller.studio.currency),
		.mode = "decimal",
		.small = true,
		.value = s ? major_units(call, s->price_minor) : NULL});
	field_line(call, h,
	    &(struct field){.name = "available",
		.label = "How many there are",
		.hint = "Empty: as many as needed can be bought.",
		.mode = "numeric",
		.small = true,
		.value = s && s->available != UNLIMITED
			     ? field_version(call, s->available)
			     : NULL});
	html_close(h, "div");
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "lot",
		.label = "Lot",
		.optional = true,
		.value = s ? s->lot : NULL});
	field_line(call, h,
	    &(struct field){.name = "place",
		.label = "Where it lies",
		.optional = true,
		.value = s ? s->place : NULL});
	html_close(h, "div");
}

static void read_stock(struct call *call, struct stock_row *s)
{
	s->kind = stock_kind_from(form_text(call->form, "kind"));
	if (s->kind < 0)
		call_fault(call, "/kind", "Choose one of the list.",
		    "what it is is missing");
	s->name =
	    read_line(call, "stock-name", "the name", true, NAME_MAX_SIGNS);
	s->width_u = read_length(call, "width", "the width", false);
	s->length_u = read_length(call, "length", "the length", false);
	s->price_minor = read_money(call, "price_minor", "the price");
	s->available = UNLIMITED;
	if (*form_text(call->form, "available"))
		s->available = read_number(
		    call, "available", "the number", 0, AVAILABLE_MAX);
	s->lot = read_line(call, "lot", "the lot", false, NAME_MAX_SIGNS);
	s->place = read_line(call, "place", "the place", false, NAME_MAX_SIGNS);
}

static void write_paper(struct call *call)
{
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = call->paper.name, .here = "/papers"});
	html_item(&h, "h2", "What it is torn from");
	write_stock_of(call, &h, call->paper.paper_id);
	html_item(&h, "h2", "Note a roll, roll-end, offcut or sheet");
	field_form(call, &h, paper_path(call, "/stock"), NULL);
	write_stock_fields(call, &h, NULL);
	field_submit(&h, "Note it", false);
	field_form_end(&h);
	if (may_change(call)) {
		html_item(&h, "h2", "The paper itself");
		field_form(call, &h, paper_path(call, ""),
		    field_version(call, call->paper.version));
		write_paper_fields(call, &h, &call->paper);
		field_tick(call, &h,
		    &(struct field){
			.name = "active", .label = "In use for new workshops"},
		    call->paper.active);
		field_submit(&h, "Save the paper", true);
		field_form_end(&h);
	}
	frame_answer(call, status, &h);
}

void page_paper(struct call *call)
{
	call->state = NULL;
	load_stock(call, call->paper.paper_id, write_paper);
}

static void on_paper_saved(struct call *call, const struct paper_row *paper)
{
	(void)paper;
	call_answer_redirect(call, paper_path(call, "?said=saved"));
}

void page_paper_post(struct call *call)
{
	struct paper_row paper = call->paper;

	call->on_fail = page_paper;
	if (!field_version_is(call, paper.version))
		return;
	read_paper(call, &paper);
	paper.active = field_is_ticked(call, "active");
	if (!call_is_faulty(call))
		act_paper_change(call, &paper, on_paper_saved);
}

static void on_stock_added(struct call *call, const struct stock_row *stock)
{
	(void)stock;
	call_answer_redirect(call, paper_path(call, "?said=added"));
}

void page_stock_new_post(struct call *call)
{
	struct stock_row stock = {.studio_id = call->caller.studio_id,
	    .paper_id = call->paper.paper_id,
	    .spoiled = "[]",
	    .active = true};

	call->on_fail = page_paper;
	read_stock(call, &stock);
	if (!call_is_faulty(call))
		act_stock_add(call, &stock, on_stock_added);
}

/* ---- one piece of stock ---- */

void page_stock(struct call *call)
{
	const struct stock_row *s = &call->stock;
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(
	    call, &h, &(struct frame){.title = s->name, .here = "/papers"});
	field_form(call, &h,
	    call_printf(call, "/stock/%lld", (long long)s->stock_id),
	    field_version(call, s->version));
	write_stock_fields(call, &h, s);
	field_tick(call, &h,
	    &(struct field){
		.name = "active", .label = "Still there: planning may use it"},
	    s->active);
	html_open(&h, "div", "class", "buttons", NULL);
	field_submit(&h, "Save", false);
	frame_button(&h,
	    call_printf(call, "/papers/%lld", (long long)s->paper_id),
	    "Back to the paper", true);
	html_close(&h, "div");
	field_form_end(&h);
	frame_answer(call, status, &h);
}

static void on_stock_saved(struct call *call, const struct stock_row *stock)
{
	call_answer_redirect(call, call_printf(call, "/papers/%lld?said=saved",
				       (long long)stock->paper_id));
}

void page_stock_post(struct call *call)
{
	struct stock_row stock = call->stock;

	call->on_fail = page_stock;
	if (!field_version_is(call, stock.version))
		return;
	read_stock(call, &stock);
	stock.active = field_is_ticked(call, "active");
	if (!call_is_faulty(call))
		act_stock_change(call, &stock, on_stock_saved);
}

/* ---- by what is written on it ---- */

static void on_found(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	const struct stock_row *stock = rows;

	if (call_failed(call, err))
		return;
	if (n == 0)
		call_refuse(call, ERR_MISSING,
		    "It comes there when the workshop is said to be torn.",
		    "nothing on the shelf has the code %s",
		    shown(call, call->text));
	else
		call_answer_redirect(call, call_printf(call, "/stock/%lld",
					       (long long)stock->stock_id));
}

/* The address in the QR code of a tear sheet. */
void page_shelf(struct call *call)
{
	store_stock_by_code(
	    call->tx, call->caller.studio_id, call->text, on_found, call);
}
