/* SPDX-License-Identifier: MIT */
/*
 * invoicing.c - an invoice into the books.
 *
 * What an invoice costs goes to the account of costs of its workshop, against the supplier,
 * or against the member who has paid the supplier.  One that replaces another takes that one's
 * booking back first, so that the supplier's account is always what is in force.
 */
#include "invoicing.h"

#include "rows.h"

struct putting {
	struct call *call;
	struct invoice_row invoice;
	const struct invoice_line_row *lines;
	invoice_put_fn *fn;
	void *ctx;
};

static void on_booked(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct putting *p = ctx;

	(void)rows;
	(void)n;
	if (!call_failed(p->call, err))
		p->fn(p->ctx, &p->invoice);
}

static void book(struct putting *p)
{
	const struct invoice_row *i = &p->invoice;
	struct booking_row booking = {
	    .studio_id = i->studio_id,
	    .kind = BOOKING_INVOICE,
	    .workshop_id = i->workshop_id,
	    .currency = i->currency,
	    .invoice_id = i->invoice_id,
	    .reference = i->number,
	    .reason = i->reason,
	    .paid_on = i->dated_on,
	    .created_by = i->created_by,
	    .key_id = i->key_id,
	};
	struct leg legs[] = {
	    {.account = ACCOUNT_COST,
		.workshop_id = i->workshop_id,
		.amount_minor = i->total_minor},
	    {.account = i->advanced_by ? ACCOUNT_PAYEE : ACCOUNT_SUPPLIER,
		.member_id = i->advanced_by,
		.workshop_id = i->workshop_id,
		.amount_minor = -i->total_minor},
	};

	store_booking_add(p->call->tx, &booking, legs, 2, on_booked, p);
}

static void on_added(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct putting *p = ctx;

	(void)n;
	if (call_failed(p->call, err))
		return;
	p->invoice = row_keep_invoice(p->call->arena, rows);
	if (p->invoice.total_minor == 0)
		p->fn(p->ctx, &p->invoice);
	else
		book(p);
}

static void on_taken_back(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct putting *p = ctx;

	(void)rows;
	(void)n;
	if (!call_failed(p->call, err))
		store_invoice_add(
		    p->call->tx, &p->invoice, p->lines, on_added, p);
}

static void on_booking_before(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct putting *p = ctx;
	const struct invoice_row *i = &p->invoice;
	struct booking_row back = {
	    .studio_id = i->studio_id,
	    .reason = i->reason,
	    .created_by = i->created_by,
	    .key_id = i->key_id,
	};

	if (call_failed(p->call, err))
		return;
	if (n == 0) {
		on_taken_back(p, NULL, 0, NULL);
		return;
	}
	back.reverses_id = *(const int64_t *)rows;
	store_booking_reverse(p->call->tx, &back, on_taken_back, p);
}

void invoice_put(struct call *call, const struct invoice_row *invoice,
    const struct invoice_line_row *lines, invoice_put_fn *fn, void *ctx)
{
	struct putting *p = call_alloc(call, sizeof(*p));

	*p = (struct putting){.call = call,
	    .invoice = *invoice,
	    .lines = lines,
	    .fn = fn,
	    .ctx = ctx};
	p->invoice.studio_id = call->caller.studio_id;
	p->invoice.workshop_id = call->workshop.workshop_id;
	p->invoice.created_by = call->caller.member_id;
	p->invoice.key_id = call->caller.key_id;
	if (invoice->replaces_id != 0)
		store_invoice_booking(call->tx, call->caller.studio_id,
		    invoice->replaces_id, on_booking_before, p);
	else
		on_taken_back(p, NULL, 0, NULL);
}
