/* SPDX-License-Identifier: MIT */
/*
 * act_invoice.c - invoices entered, replaced, withdrawn.
 *
 * The total is typed as well as the lines: that both agree is the treasurer's own check that
 * nothing was left out, so a difference is refused with both figures.  Tax is what the
 * invoice says; nothing here computes any.
 */
#include "act_invoice.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "act_money.h"
#include "invoicing.h"
#include "measure.h"
#include "rows.h"

struct entering {
	struct call *call;
	struct invoice_row invoice;
	const struct invoice_line_row *lines;
	const char *event;
	act_invoice_fn *done;
};

static struct entering *entering_new(struct call *call,
    const struct invoice_row *invoice, const char *event, act_invoice_fn *done)
{
	struct entering *e = call_alloc(call, sizeof(*e));

	e->call = call;
	e->invoice = *invoice;
	e->invoice.currency = call->caller.studio.currency;
	e->event = event;
	e->done = done;
	call->act = e;
	return e;
}

/* ---- percent ---- */

#define PPM 10000 /* of one percent */
#define PERCENT_MAX 1000

bool percent_read(const char *text, int64_t *ppm)
{
	size_t whole = strspn(text, "0123456789");
	size_t rest = 0;
	int64_t value = 0;

	if (whole == 0 || whole > 4)
		return false;
	value = strtoll(text, NULL, 10) * PPM;
	if (text[whole] == '.') {
		int64_t unit = PPM;

		rest = strspn(text + whole + 1, "0123456789");
		if (rest == 0 || rest > 4)
			return false;
		for (size_t i = 0; i < rest; i++) {
			unit /= 10;
			value += (text[whole + 1 + i] - '0') * unit;
		}
		rest++;
	}
	*ppm = value;
	return text[whole + rest] == '\0' && value <= PERCENT_MAX * PPM;
}

const char *percent_text(struct call *call, int64_t ppm)
{
	char *text =
	    call_printf(call, "%" PRId64 ".%04" PRId64, ppm / PPM, ppm % PPM);
	size_t len = strlen(text);

	while (text[len - 1] == '0')
		len--;
	if (text[len - 1] == '.')
		len--;
	text[len] = '\0';
	return text;
}

/* ---- what is refused ---- */

static bool takes_paper(const struct call *call, int64_t paper_id)
{
	json_t *papers = json_loads(call->workshop.papers, 0, NULL);
	json_t *paper = NULL;
	bool found = false;
	size_t i = 0;

	json_array_foreach(papers, i, paper) found =
	    found || json_integer_value(paper) == paper_id;
	json_decref(papers);
	return found;
}

static void check_line(struct call *call, const struct invoice_line_row *l,
    size_t i, const char *at)
{
	if (l->kind == LINE_ROLLS && l->paper_id == 0)
		call_fault(call, call_printf(call, "%s/paper_id", at),
		    "Name the paper of the rolls.", "line %zu has no paper",
		    i + 1);
	if (l->paper_id != 0 && !takes_paper(call, l->paper_id))
		call_fault(call, call_printf(call, "%s/paper_id", at),
		    "Name a paper of the workshop, or none.",
		    "paper %" PRId64 " is not of this workshop", l->paper_id);
	if (l->amount_minor < -AMOUNT_MAX || l->amount_minor > AMOUNT_MAX)
		call_fault(call, call_printf(call, "%s/amount_minor", at),
		    "Give whole minor units.",
		    "amount_minor %" PRId64 " is out of range",
		    l->amount_minor);
	if (l->kind == LINE_DISCOUNT && l->amount_minor > 0)
		call_fault(call, call_printf(call, "%s/amount_minor", at),
		    "What is taken off is negative.",
		    "a discount is 0 or less, not %" PRId64, l->amount_minor);
	if (l->count != 0 &&
	    (wide)l->count * l->unit_minor != (wide)l->amount_minor)
		call_fault(call, call_printf(call, "%s/amount_minor", at),
		    "Enter what is taken off as a discount of its own.",
		    "%" PRId64 " at %" PRId64 " is not %" PRId64, l->count,
		    l->unit_minor, l->amount_minor);
	if (l->kind != LINE_TAX && (l->tax_rate_ppm >= 0 || l->has_tax_base))
		call_fault(call, call_printf(call, "%s/tax_percent", at),
		    "Enter the tax as a line of kind \"tax\".",
		    "line %zu is no tax and has a rate or a base", i + 1);
}

static const char *printed(struct call *call, money m)
{
	char text[MONEY_TEXT_MAX];

	return arena_strdup(
	    call->arena, money_print(text, m, call->caller.studio.currency));
}

static void check_invoice(struct entering *e)
{
	struct call *call = e->call;
	wide sum = 0;

	if (e->invoice.n_lines == 0)
		call_fault(call, "/lines", "Enter each line of the invoice.",
		    "the invoice has no lines");
	for (int64_t i = 0; i < e->invoice.n_lines; i++) {
		check_line(call, &e->lines[i], (size_t)i,
		    call_printf(call, "/lines/%" PRId64, i));
		if (e->lines[i].kind != LINE_TAX || !e->invoice.tax_included)
			sum += e->lines[i].amount_minor;
	}
	if (call->n_faults == 0 && sum != e->invoice.total_minor)
		call_fault(call, "/total_minor",
		    e->invoice.tax_included
			? "Tax that is included is not added; enter every "
			  "line, and the total as it is printed."
			: "Enter every line, tax and shipping too, and the "
			  "total as it is printed.",
		    "the lines add up to %s, the total is %s",
		    printed(call, (money)sum),
		    printed(call, e->invoice.total_minor));
}

/* ---- into the books ---- */

static void on_noted(struct call *call)
{
	struct entering *e = call->act;

	e->done(call, &e->invoice);
}

static void on_put(void *ctx, const struct invoice_row *invoice)
{
	struct entering *e = ctx;

	e->invoice = *invoice;
	call_event(e->call, e->event, invoice->workshop_id, 0,
	    json_pack("{s: I, s: I, s: I}", "invoice_id",
		(json_int_t)invoice->invoice_id, "total_minor",
		(json_int_t)invoice->total_minor, "replaces_id",
		(json_int_t)invoice->replaces_id),
	    on_noted);
}

/* The same paper on the desks of two treasurers is one invoice. */
static void on_in_force(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct entering *e = ctx;
	const struct invoice_row *others = rows;
	const struct invoice_row *own = &e->invoice;

	if (call_failed(e->call, err))
		return;
	for (size_t i = 0; i < n; i++) {
		if (*own->number == '\0' || own->withdrawn ||
		    others[i].invoice_id == own->replaces_id ||
		    strcmp(others[i].number, own->number) != 0 ||
		    strcmp(others[i].supplier, own->supplier) != 0)
			continue;
		call_refuse(e->call, ERR_CONFLICT,
		    "Replace that one if something on it has changed.",
		    "invoice \"%.60s\" is entered already, as invoice %" PRId64,
		    own->number, others[i].invoice_id);
		return;
	}
	invoice_put(e->call, own, e->lines, on_put, e);
}

static void enter(struct entering *e)
{
	store_invoices(e->call->tx, e->call->caller.studio_id,
	    e->call->workshop.workshop_id, false, on_in_force, e);
}

void act_invoice_add(struct call *call, const struct invoice_row *invoice,
    const struct invoice_line_row *lines, act_invoice_fn *done)
{
	struct entering *e = entering_new(call, invoice, "invoice-added", done);

	e->lines = lines;
	check_invoice(e);
	if (!call_is_faulty(call))
		enter(e);
}

/* False when it is not in force: the call has ended. */
static bool takes_place_of(struct entering *e)
{
	const struct invoice_row *was = &e->call->invoice;

	e->invoice.replaces_id = was->invoice_id;
	if (was->replaced_by_id == 0 && !was->withdrawn)
		return true;
	call_refuse(e->call, ERR_CONFLICT, "Read the invoices again.",
	    was->replaced_by_id
		? "invoice %" PRId64 " was replaced, by %" PRId64
		: "invoice %" PRId64 " stands for one that was withdrawn",
	    was->invoice_id, was->replaced_by_id);
	return false;
}

void act_invoice_replace(struct call *call, const struct invoice_row *invoice,
    const struct invoice_line_row *lines, act_invoice_fn *done)
{
	struct entering *e =
	    entering_new(call, invoice, "invoice-replaced", done);

	e->lines = lines;
	check_invoice(e);
	if (!call_is_faulty(call) && takes_place_of(e))
		enter(e);
}

void act_invoice_withdraw(
    struct call *call, const char *reason, act_invoice_fn *done)
{
	struct invoice_row empty = {
	    .number = call->invoice.number,
	    .supplier = call->invoice.supplier,
	    .withdrawn = true,
	    .reason = reason,
	};
	struct entering *e =
	    entering_new(call, &empty, "invoice-withdrawn", done);

	if (takes_place_of(e))
		enter(e);
}
