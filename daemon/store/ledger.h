/* SPDX-License-Identifier: MIT */
/*
 * Questions about money: settlements, bookings and their entries, balances.
 *
 * Rows are only added.  A booking is a balanced set of legs (debit positive, credit
 * negative), looked at by the database when its transaction ends; what one reads are the
 * legs on members' accounts, as entries.  A settlement shares the cost of a workshop: its
 * one booking comes in the same transaction and charges what the settlement says.  A later
 * settlement of the same workshop charges the difference.
 */
#ifndef STORE_LEDGER_H
#define STORE_LEDGER_H

#include "measure.h"
#include "store.h"

enum account_kind { /* as sql/008_books.sql tells them */
	ACCOUNT_MEMBER,
	ACCOUNT_PAYEE,
	ACCOUNT_SUPPLIER,
	ACCOUNT_COST,
	ACCOUNT_SHELF,
	ACCOUNT_WRITE_OFF,
	ACCOUNT_CAPITAL,
};

const char *account_kind_name(int64_t kind); /* "write-off"; NULL: no kind */

enum booking_kind {
	BOOKING_CHARGE,     /* a member's share, by the first settlement */
	BOOKING_ADJUSTMENT, /* new shares less old ones, by a later settlement */
	BOOKING_PAYMENT,
	BOOKING_REFUND, /* money given back */
	BOOKING_REVERSAL,
	BOOKING_CORRECTION, /* what a member owes, put right with a reason */
	BOOKING_WRITE_OFF,
	BOOKING_TRANSFER, /* from member to member */
	BOOKING_CARRY,    /* a credit, from workshop to workshop */
	BOOKING_INVOICE,
	BOOKING_STOCK_IN,
	BOOKING_STOCK_OUT,
};
const char *booking_kind_name(int64_t kind); /* "write-off"; NULL: no kind */

struct settlement_row {
	int64_t studio_id, settlement_id, workshop_id, plan_id;
	int64_t number; /* 1, 2, ... within the workshop; 0 given: the next */
	const char *currency;
	money invoice_minor; /* the whole cost of the order, as it stands now */
	money
	    charged_minor; /* what this settlement charges: what is shared minus what was charged before */
	money
	    estimated_minor; /* of invoice_minor: prices of the plan, not invoiced yet */
	money used_minor; /* taken from the shelf, shared as well */
	money kept_minor; /* kept on the shelf, not shared */
	const char
	    *parts; /* JSON: [{"paper_id":1,"amount_minor":19200}, ...] */
	const char *policy;     /* JSON: the rule of sharing as it was used */
	const char *derivation; /* JSON: the costs that were shared */
	const char
	    *invoices; /* JSON: ids of the invoices it is made of, "[3, 4]" */
	const char *created_at;
	int64_t created_by;
};

struct share_given { /* a member's share with one settlement */
	int64_t member_id;
	money share_minor;      /* in all, not what is charged now */
	const char *derivation; /* JSON object, or NULL */
};

struct leg {
	int64_t account; /* enum account_kind */
	int64_t
	    member_id; /* member: for whom; payee: who advanced the money, or 0 */
	int64_t workshop_id;
	money amount_minor; /* debit positive, credit negative */
};

struct booking_row {
	int64_t studio_id, booking_id;
	int64_t kind;        /* enum booking_kind */
	int64_t workshop_id; /* or 0 */
	const char *currency;
	int64_t settlement_id, invoice_id, plan_id, stock_id; /* or 0 */
	int64_t reverses_id; /* booking, or 0 */
	int64_t payer_id;    /* who paid for the member, or 0 */
	const char *method, *reference, *reason;
	const char *bank_reference; /* once per studio; or NULL */
	const char *paid_on;        /* date or NULL */
	const char *created_at;
	int64_t created_by;
	int64_t key_id; /* the key with which it was made, or 0 */
};

/* A leg on a member's account, with what its booking says. */
struct entry_row {
	int64_t studio_id, entry_id, booking_id, workshop_id, member_id;
	int64_t kind; /* enum booking_kind */
	/* Of what is charged (settlement_id is not 0) as the member owes more; of everything
	 * else as the member owes less: what came in is positive, what went out negative. */
	money amount_minor;
	int64_t settlement_id; /* of a charge, an adjustment; 0 of all others */
	int64_t reverses_id;   /* entry, or 0; the amount is its, negated */
	int64_t reversed_by_id; /* entry, or 0 */
	int64_t payer_id;       /* or 0 */
	int64_t
	    account_member_id; /* whose account: the member's own, or the guardian's */
	int64_t payee_id; /* member to whom the money went, or 0 */
	const char *currency;
	const char *method, *reference, *reason;
	const char *bank_reference; /* or NULL */
	const char *paid_on;        /* date or NULL */
	const char *created_at;
	int64_t created_by;
	int64_t key_id; /* the key with which it was made, or 0 */
	const char *member_name;
	const char *payer_name; /* or NULL */
};

struct balance_row { /* per member of a workshop */
	int64_t member_id;
	const char *member_name;
	money charged_minor, paid_minor; /* what is owed: charged - paid */
};

struct shelf_row { /* what a plan moved off and onto the shelf, by paper */
	int64_t paper_id;
	money used_minor,
	    kept_minor; /* at the value of stock taken, put there */
};

struct total_row {         /* per account of one workshop */
	int64_t account;   /* enum account_kind */
	int64_t member_id; /* holder, or 0 */
	const char *member_name, *currency;
	money debit_minor, credit_minor; /* both positive */
};

struct owing_row { /* who still owes in which workshop */
	int64_t workshop_id, member_id;
	const char *workshop_name, *member_name, *contact;
	money owed_minor;
	const char *since_on; /* day since which something is owed */
	const char *due_on;   /* by when, or NULL: the studio does not say */
	int64_t late_days;    /* 0: not late */
};

/* struct settlement_row; the settlement with everybody's share, in one message */
void store_settlement_add(struct store_tx *tx,
    const struct settlement_row *settlement, const struct share_given *shares,
    size_t n_shares, store_rows_fn *fn, void *ctx);
void store_settlements(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, store_rows_fn *fn, void *ctx);

/* struct share_given: of one settlement, by member id */
void store_shares(struct store_tx *tx, int64_t studio_id, int64_t settlement_id,
    store_rows_fn *fn, void *ctx);

/* struct entry_row: the members' legs of what was added; none when it has none */
void store_booking_add(struct store_tx *tx, const struct booking_row *booking,
    const struct leg *legs, size_t n_legs, store_rows_fn *fn, void *ctx);
/* The same, with the negated legs of booking->reverses_id. */
void store_booking_reverse(struct store_tx *tx,
    const struct booking_row *booking, store_rows_fn *fn, void *ctx);

/* struct entry_row */
void store_entry(struct store_tx *tx, int64_t studio_id, int64_t entry_id,
    store_rows_fn *fn, void *ctx);
/* kind -1: all; workshop_id or member_id 0: of all */
void store_entries(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t member_id, int64_t kind, struct page page, store_rows_fn *fn,
    void *ctx);
/* The unreversed payment or refund of this line of the bank's list, if there is one. */
void store_bank_line(struct store_tx *tx, int64_t studio_id,
    const char *bank_reference, store_rows_fn *fn, void *ctx);

/* struct balance_row, by member id; member_id 0: of all */
void store_balances(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t member_id, store_rows_fn *fn, void *ctx);
/* struct shelf_row */
void store_shelf_moves(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, int64_t plan_id, store_rows_fn *fn, void *ctx);
/* struct owing_row, the longest owing first; by the database's clock */
void store_owing(
    struct store_tx *tx, int64_t studio_id, store_rows_fn *fn, void *ctx);
/* struct total_row: what the accounts of a workshop add up to */
void store_totals(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    store_rows_fn *fn, void *ctx);

#endif
