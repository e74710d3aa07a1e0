/* SPDX-License-Identifier: MIT */
/*
 * Do the books agree: the ledger with itself, with the shares, with the invoices and with
 * what lies on the shelf.
 */
#ifndef STORE_RECONCILE_H
#define STORE_RECONCILE_H

#include "store.h"

struct trouble_row { /* what was found; none when the books agree */
	int64_t studio_id, workshop_id, member_id; /* 0: it concerns no one */
	const char *what;
};

/* struct trouble_row; studio_id 0: of all studios */
void store_reconcile(
    struct store_tx *tx, int64_t studio_id, store_rows_fn *fn, void *ctx);

#endif
