/* SPDX-License-Identifier: MIT */
/*
 * act_payment.c - payments and what else a treasurer books by hand, and reversals.
 *
 * Each is two legs.  An entry is never changed: what was wrong is reversed by a booking that
 * names it.  Money given back, or carried to another workshop, can be no more than there
 * is: the member's credit in this workshop.
 */
#include "act_money.h"

#include <inttypes.h>

#include "measure.h"
#include "rows.h"

struct booking {
	struct call *call;
	struct entry_row entry;
	int64_t to; /* member or workshop, or 0 */
	const char *event;
	act_entry_fn *done;
};

static struct booking *booking_new(
    struct call *call, const char *event, act_entry_fn *done)
{
	struct booking *b = call_alloc(call, sizeof(*b));

	b->call = call;
	b->event = event;
	b->done = done;
	call->act = b;
	return b;
}

static void on_noted(struct call *call)
{
	struct booking *b = call->act;

	b->done(call, &b->entry);
}

static void on_entry(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct booking *b = ctx;
	const struct entry_row *entries = rows;
	size_t own = 0;

	if (call_failed(b->call, err))
		return;
	for (size_t i = 0; i < n; i++)
		if (entries[i].member_id == b->entry.member_id &&
		    entries[i].workshop_id == b->entry.workshop_id)
			own = i;
	b->entry = row_keep_entry(b->call->arena, &entries[own]);
	call_event(b->call, b->event, b->entry.workshop_id, b->entry.member_id,
	    json_pack("{s: I, s: s, s: I}", "entry_id",
		(json_int_t)b->entry.entry_id, "kind",
		booking_kind_name(b->entry.kind), "amount_minor",
		(json_int_t)b->entry.amount_minor),
	    on_noted);
}

/* The member's leg, and the one against it. */
static void fill_legs(const struct booking *b, struct leg legs[2])
{
	const struct entry_row *e = &b->entry;
	struct leg *own = &legs[0], *other = &legs[1];

	*own = (struct leg){
	    ACCOUNT_MEMBER, e->member_id, e->workshop_id, e->amount_minor};
	*other = (struct leg){
	    ACCOUNT_PAYEE, e->payee_id, e->workshop_id, -e->amount_minor};
	switch ((enum booking_kind)e->kind) {
	case BOOKING_PAYMENT:
		own->amount_minor = -own->amount_minor;
		other->amount_minor = -other->amount_minor;
		break;
	case BOOKING_WRITE_OFF:
		own->amount_minor = -own->amount_minor;
		*other = (struct leg){
		    ACCOUNT_WRITE_OFF, 0, e->workshop_id, e->amount_minor};
		break;
	case BOOKING_CORRECTION:
		*other = (struct leg){
		    ACCOUNT_WRITE_OFF, 0, e->workshop_id, -e->amount_minor};
		break;
	case BOOKING_TRANSFER:
		*other = (struct leg){
		    ACCOUNT_MEMBER, b->to, e->workshop_id, -e->amount_minor};
		break;
	case BOOKING_CARRY:
		*other = (struct leg){
		    ACCOUNT_MEMBER, e->member_id, b->to, -e->amount_minor};
		break;
	default:
		break;
	}
}

static void book(struct booking *b)
{
	const struct entry_row *e = &b->entry;
	struct booking_row row = {
	    .studio_id = e->studio_id,
	    .kind = e->kind,
	    .workshop_id = e->workshop_id,
	    .currency = b->call->caller.studio.currency,
	    .payer_id = e->payer_id,
	    .method = e->method,
	    .reference = e->reference,
	    .reason = e->reason,
	    .bank_reference = e->bank_reference,
	    .paid_on = e->paid_on,
	    .created_by = e->created_by,
	    .key_id = e->key_id,
	};
	struct leg legs[2];

	fill_legs(b, legs);
	store_booking_add(b->call->tx, &row, legs, 2, on_entry, b);
}

/* ---- what is refused ---- */

static const char *printed(struct call *call, money m)
{
	char text[MONEY_TEXT_MAX];

	return arena_strdup(
	    call->arena, money_print(text, m, call->caller.studio.currency));
}

static bool needs_credit(int64_t kind)
{
	return kind == BOOKING_REFUND || kind == BOOKING_CARRY;
}

/* Money that is not there cannot be given back, a debt that is not there not be forgiven. */
static void on_balance(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct booking *b = ctx;
	struct call *call = b->call;
	const struct balance_row *row = rows;
	money owed = 0, most = 0;

	if (call_failed(call, err))
		return;
	if (n > 0)
		owed = row->charged_minor - row->paid_minor;
	most = needs_credit(b->entry.kind) ? -owed : owed;
	if (b->entry.amount_minor <= most) {
		book(b);
		return;
	}
	call_refuse(call, ERR_CONFLICT,
	    needs_credit(b->entry.kind) ? "Give back at most the credit."
					: "Write off at most what is owed.",
	    owed < 0 ? "the member has a credit of %s here"
		     : "the member owes %s here",
	    printed(call, owed < 0 ? -owed : owed));
}

static void on_takes_part(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct booking *b = ctx;
	struct call *call = b->call;

	(void)rows;
	if (call_failed(call, err))
		return;
	if (n == 0)
		call_fault(call, "/member_id", "Name a member of the workshop.",
		    "member %" PRId64 " does not take part in this workshop",
		    b->entry.member_id);
	if (call_is_faulty(call))
		return;
	if (needs_credit(b->entry.kind) || b->entry.kind == BOOKING_WRITE_OFF)
		store_balances(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, b->entry.member_id, on_balance,
		    b);
	else
		book(b);
}

static void check(struct booking *b)
{
	struct call *call = b->call;
	const struct entry_row *e = &b->entry;
	bool either = e->kind == BOOKING_CORRECTION;

	if (e->amount_minor == 0 || e->amount_minor > AMOUNT_MAX ||
	    e->amount_minor < (either ? -AMOUNT_MAX : 1))
		call_fault(call, "/amount_minor",
		    either ? "Give whole minor units: more, or less than 0 "
			     "for less to be owed."
			   : "Give whole minor units above 0; to take "
			     "something back, reverse it.",
		    "amount_minor %" PRId64 " is out of range",
		    e->amount_minor);
	if (e->kind == BOOKING_TRANSFER && b->to == e->member_id)
		call_fault(call, "/to_member_id", "Name another member.",
		    "a transfer is between two members");
	if (e->kind == BOOKING_CARRY && b->to == call->workshop.workshop_id)
		call_fault(call, "/to_workshop_id", "Name another workshop.",
		    "a credit is carried from one workshop to another");
}

void act_book(struct call *call, const struct entry_row *entry, int64_t to,
    act_entry_fn *done)
{
	struct booking *b = booking_new(call,
	    entry->kind == BOOKING_PAYMENT ? "payment-added" : "booking-added",
	    done);

	b->to = to;
	b->entry = *entry;
	b->entry.studio_id = call->caller.studio_id;
	b->entry.workshop_id = call->workshop.workshop_id;
	b->entry.created_by = call->caller.member_id;
	b->entry.key_id = call->caller.key_id;
	check(b);
	store_is_enrolled(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, entry->member_id, on_takes_part, b);
}

/* ---- reversals ---- */

static bool can_be_reversed(int64_t kind)
{
	return kind != BOOKING_CHARGE && kind != BOOKING_ADJUSTMENT &&
	       kind != BOOKING_REVERSAL;
}

void act_reverse(struct call *call, const char *reason, act_entry_fn *done)
{
	const struct entry_row *of = &call->entry;
	struct booking *b = booking_new(call,
	    of->kind == BOOKING_PAYMENT ? "payment-reversed"
					: "booking-reversed",
	    done);
	struct booking_row back = {
	    .studio_id = of->studio_id,
	    .reverses_id = of->booking_id,
	    .reason = reason,
	    .created_by = call->caller.member_id,
	    .key_id = call->caller.key_id,
	};

	b->entry = *of;
	if (!can_be_reversed(of->kind)) {
		call_refuse(call, ERR_MISSING, NULL, "there is no such thing");
		return;
	}
	if (of->reversed_by_id != 0) {
		call_refuse(call, ERR_CONFLICT, NULL,
		    "%s %" PRId64 " was reversed before, by entry %" PRId64,
		    booking_kind_name(of->kind), of->entry_id,
		    of->reversed_by_id);
		return;
	}
	store_booking_reverse(call->tx, &back, on_entry, b);
}
