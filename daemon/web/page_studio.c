/* SPDX-License-Identifier: MIT */
/*
 * page_studio.c - the settings of the studio: how it writes lengths, what its ruler and table are.
 */
#include "pages.h"

#include <string.h>

#include "act_people.h"
#include "field.h"
#include "figures.h"
#include "form.h"
#include "frame.h"
#include "read.h"
#include "say.h"
#include "share_form.h"

static const struct choice systems[] = {
    {"0", "inches: 12 1/2 in"},
    {"1", "millimetres: 317 mm"},
    {"2", "centimetres: 31.7 cm"},
};

static const struct choice stages[] = {
    {"2", "one sheet in each segment"},
    {"3", "several sheets stacked in a segment"},
};

static void write_money(
    struct call *call, struct html *h, const struct studio *s)
{
	field_line(call, h,
	    &(struct field){.name = "name",
		.label = "Name of the studio",
		.value = s->name});
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "currency",
		.label = "Currency",
		.hint = "Three letters (ISO 4217): EUR.",
		.small = true,
		.value = s->currency});
	field_line(call, h,
	    &(struct field){.name = "time_zone",
		.label = "Time zone",
		.hint = "Like Europe/Lisbon.",
		.value = s->time_zone});
	html_close(h, "div");
}

static void write_ruler(
    struct call *call, struct html *h, const struct studio *s)
{
	field_choose(call, h,
	    &(struct field){.name = "measure",
		.label = "Lengths are written in",
		.value = field_version(call, s->measure)},
	    systems, sizeof systems / sizeof systems[0]);
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "ruler",
		.label = "Smallest step of the ruler",
		.hint = "Torn sizes lie on it: 1/16 in, 1 mm.",
		.value = say_length(call, s->ruler_u)});
	field_line(call, h,
	    &(struct field){.name = "sliver",
		.label = "Narrowest trim that tears cleanly",
		.hint = "0: no rule.",
		.value = say_length(call, s->sliver_u)});
	field_line(call, h,
	    &(struct field){.name = "oversize",
		.label = "A sheet may stay larger by",
		.hint = "So that no sliver need be torn.",
		.value = say_length(call, s->oversize_u)});
	field_line(call, h,
	    &(struct field){.name = "keep",
		.label = "Roll-ends and offcuts are kept from",
		.value = say_length(call, s->keep_u)});
	field_line(call, h,
	    &(struct field){.name = "straightedge",
		.label = "Length of the straightedge",
		.hint = "0: not said.",
		.value = say_length(call, s->straightedge_u)});
	field_line(call, h,
	    &(struct field){.name = "table",
		.label = "Length of the table",
		.hint = "0: not said.",
		.value = say_length(call, s->table_u)});
	html_close(h, "div");
}

static const struct choice pulls[] = {
    {"0", "what comes off; the straightedge lies on what stays"},
    {"1", "what stays; the straightedge lies on what comes off"},
};

static const struct choice pages[] = {{"0", "A4"}, {"1", "Letter"}};

static const struct choice full_names[] = {
    {"0", "nobody's: first names only"},
    {"1", "those of members who act for themselves"},
    {"2", "everybody's, children too"},
};

static const struct choice languages[] = {
    {"en", "English"},
    {"de", "Deutsch"},
};

/* To whom the members pay. */
static void write_payee(
    struct call *call, struct html *h, const struct studio *s)
{
	size_t n = 0;
	struct choice locales[32];

	for (; n < 32 && figures_locale(n) != NULL; n++)
		locales[n] =
		    (struct choice){figures_locale(n), figures_locale(n)};
	html_item(h, "h2", "How members pay");
	field_line(call, h,
	    &(struct field){.name = "payee_name",
		.label = "To whom",
		.optional = true,
		.value = s->payee_name});
	field_line(call, h,
	    &(struct field){.name = "payee_account",
		.label = "Account",
		.hint = "An IBAN, or words: \"cash, to the treasurer\". With "
			"an IBAN and the euro, statements carry a payment "
			"code.",
		.optional = true,
		.value = s->payee_account});
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "pay_within_days",
		.label = "Days to pay",
		.hint = "0: not said.",
		.mode = "numeric",
		.small = true,
		.value = field_version(call, s->pay_within_days)});
	field_choose(call, h,
	    &(struct field){.name = "locale",
		.label = "How amounts are written",
		.value = s->locale},
	    locales, n);
	html_close(h, "div");
}

static void write_prints(
    struct call *call, struct html *h, const struct studio *s)
{
	html_item(h, "h2", "What is printed");
	html_open(h, "div", "class", "pair", NULL);
	field_choose(call, h,
	    &(struct field){.name = "language",
		.label = "Language of the tear sheet",
		.value = s->language},
	    languages, sizeof languages / sizeof languages[0]);
	field_choose(call, h,
	    &(struct field){.name = "sheet_page",
		.label = "Paper in the printer",
		.value = field_version(call, s->sheet_page)},
	    pages, sizeof pages / sizeof pages[0]);
	html_close(h, "div");
	field_tick(call, h,
	    &(struct field){.name = "both_measures",
		.label = "Inches and millimetres beside each other"},
	    s->both_measures);
	field_choose(call, h,
	    &(struct field){.name = "pull",
		.label = "At a tear one pulls",
		.value = field_version(call, s->pull)},
	    pulls, sizeof pulls / sizeof pulls[0]);
	field_tick(call, h,
	    &(struct field){.name = "names_on_sheets",
		.label = "Names on the tear sheet",
		.hint = "Otherwise the prints carry codes only."},
	    s->names_on_sheets);
	field_choose(call, h,
	    &(struct field){.name = "full_names",
		.label = "Names in full",
		.value = field_version(call, s->full_names)},
	    full_names, sizeof full_names / sizeof full_names[0]);
	field_line(call, h,
	    &(struct field){.name = "rules",
		.label = "The studio's own rules",
		.hint = "One line, printed first of the cautions.",
		.optional = true,
		.value = s->rules});
	field_line(call, h,
	    &(struct field){.name = "label_grid",
		.label = "How labels lie on their page",
		.hint = "Page; columns x rows; width x height; left x top of "
			"the first; from one to the next. Empty: the usual "
			"one. \"a4; 3 x 7; 63.5 x 38.1 mm; 7.2 x 15.1 mm; "
			"66 x 38.1 mm\"",
		.optional = true,
		.value = s->label_grid});
}

static void write_habits(
    struct call *call, struct html *h, const struct studio *s)
{
	field_choose(call, h,
	    &(struct field){.name = "stages",
		.label = "How strips are divided",
		.value = field_version(call, s->stages)},
	    stages, sizeof stages / sizeof stages[0]);
	field_line(call, h,
	    &(struct field){.name = "side_up",
		.label = "Which side lies up",
		.hint = "Printed on the tear sheet: \"felt side up\".",
		.optional = true,
		.value = s->side_up});
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "flattening_days",
		.label = "Days for flattening",
		.mode = "numeric",
		.small = true,
		.value = field_version(call, s->flattening_days)});
	field_line(call, h,
	    &(struct field){.name = "count_max",
		.label = "Most sheets in one request",
		.mode = "numeric",
		.small = true,
		.value = field_version(call, s->count_max)});
	html_close(h, "div");
	share_write_rules(
	    call, h, s->share_policy, s->share_ceiling, s->shipping_each);
}

void page_studio(struct call *call)
{
	const struct studio *s = &call->caller.studio;
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(
	    call, &h, &(struct frame){.title = "Studio", .here = "/studio"});
	field_form(call, &h, "/studio", field_version(call, s->version));
	write_money(call, &h, s);
	write_ruler(call, &h, s);
	write_habits(call, &h, s);
	write_payee(call, &h, s);
	write_prints(call, &h, s);
	field_submit(&h, "Save", false);
	field_form_end(&h);
	frame_answer(call, status, &h);
}

static void on_saved(struct call *call, const struct studio *studio)
{
	(void)studio;
	call_answer_redirect(call, "/studio?said=saved");
}

static void read_ruler(struct call *call, struct studio *s)
{
	s->measure = read_number(call, "measure", "the measure", 0, 2);
	s->ruler_u = read_length(call, "ruler", "the step", false);
	s->sliver_u = read_length(call, "sliver", "the trim", true);
	s->oversize_u = read_length(call, "oversize", "the oversize", true);
	s->keep_u = read_length(call, "keep", "the length", true);
	s->straightedge_u =
	    read_length(call, "straightedge", "the straightedge", true);
	s->table_u = read_length(call, "table", "the table", true);
}

static void read_prints(struct call *call, struct studio *to)
{
	to->language = read_line(call, "language", "the language", true, 3);
	to->sheet_page = read_number(call, "sheet_page", "the paper", 0, 1);
	to->both_measures = field_is_ticked(call, "both_measures");
	to->pull = read_number(call, "pull", "the side", 0, 1);
	to->names_on_sheets = field_is_ticked(call, "names_on_sheets");
	to->full_names = read_number(call, "full_names", "the names", 0, 2);
	to->rules =
	    read_line(call, "rules", "the rules", false, TEXT_MAX_SIGNS);
	to->label_grid =
	    read_line(call, "label_grid", "the grid", false, TEXT_MAX_SIGNS);
}

static void read_payee(struct call *call, struct studio *to)
{
	to->payee_name = read_line(call, "payee_name", "the payee", false, 70);
	to->payee_account = read_line(
	    call, "payee_account", "the account", false, NAME_MAX_SIGNS);
	to->pay_within_days =
	    read_number(call, "pay_within_days", "the days", 0, 365);
	to->locale = read_line(call, "locale", "the way of writing", true, 6);
}

void page_studio_post(struct call *call)
{
	struct studio to = call->caller.studio;

	call->on_fail = page_studio;
	if (!field_version_is(call, to.version))
		return;
	to.name = read_line(call, "name", "the name", true, NAME_MAX_SIGNS);
	to.currency = read_line(call, "currency", "the currency", true, 3);
	to.time_zone = read_line(call, "time_zone", "the time zone", true, 60);
	read_ruler(call, &to);
	to.stages = read_number(call, "stages", "the stages", 2, 3);
	to.side_up =
	    read_line(call, "side_up", "the side", false, NAME_MAX_SIGNS);
	to.flattening_days =
	    read_number(call, "flattening_days", "the days", 0, 60);
	to.count_max = read_number(call, "count_max", "the number", 1, 10000);
	share_read_rules(
	    call, &to.share_policy, &to.share_ceiling, &to.shipping_each);
	read_payee(call, &to);
	read_prints(call, &to);
	if (!call_is_faulty(call))
		act_studio_change(call, &to, on_saved);
}
