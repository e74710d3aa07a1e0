/* SPDX-License-Identifier: MIT */
/*
 * Questions about money: settlements, charges, payments, balances.
 *
 * Entries are only added.  A settlement splits the invoice of a workshop: its charges come
 * in the same transaction and add up to the invoice exactly (checked by the database at
 * commit).  A later settlement of the same workshop charges the difference.
 */
#ifndef STORE_LEDGER_H
#define STORE_LEDGER_H

#include "measure.h"
#include "store.h"

enum entry_kind { ENTRY_CHARGE, ENTRY_PAYMENT, ENTRY_REVERSAL };

struct settlement_row {
	int64_t studio_id, settlement_id, workshop_id, plan_id;
	int64_t number; /* 1, 2, ... within the workshop; 0 given: the next */
	const char *currency;
	money invoice_minor; /* the whole invoice, as it stands now */
	money
	    charged_minor; /* what this settlement charges: invoice minus what was charged before */
	const char
	    *parts; /* JSON: [{"paper_id":1,"amount_minor":19200}, ...] */
	const char *created_at;
	int64_t created_by;
};

struct entry_row {
	int64_t studio_id, entry_id, workshop_id, member_id;
	int64_t kind; /* enum entry_kind */
	money
	    amount_minor; /* charge: what the member owes more; payment: what came in (positive) */
	int64_t
	    settlement_id; /* of a charge and of its reversal; 0 for payments and theirs */
	int64_t reverses_id; /* or 0; the amount is the original's, negated */
	int64_t reversed_by_id; /* or 0 */
	const char *method, *reference, *reason;
	const char *paid_on; /* date or NULL */
	const char *created_at;
	int64_t created_by;
	int64_t key_id; /* the key with which it was made, or 0 */
	const char *member_name;
};

struct balance_row { /* per member of a workshop */
	int64_t member_id;
	const char *member_name;
	money charged_minor, paid_minor;
};

struct trouble_row { /* what reconciliation found; none when the books agree */
	int64_t studio_id, workshop_id, member_id;
	const char *what;
};

/* struct settlement_row */
void store_settlement_add(struct store_tx *tx,
    const struct settlement_row *settlement, store_rows_fn *fn, void *ctx);
void store_settlements(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, store_rows_fn *fn, void *ctx);

/* struct entry_row */
void store_entry_add(struct store_tx *tx, const struct entry_row *entry,
    store_rows_fn *fn, void *ctx);
void store_entry(struct store_tx *tx, int64_t studio_id, int64_t entry_id,
    store_rows_fn *fn, void *ctx);
/* kind -1: all; workshop_id or member_id 0: of all */
void store_entries(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t member_id, int64_t kind, struct page page, store_rows_fn *fn,
    void *ctx);

/* struct balance_row, by member id; member_id 0: of all */
void store_balances(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t member_id, store_rows_fn *fn, void *ctx);
/* struct trouble_row; studio_id 0: of all studios */
void store_reconcile(
    struct store_tx *tx, int64_t studio_id, store_rows_fn *fn, void *ctx);

#endif
