/* SPDX-License-Identifier: MIT */
/*
 * Questions about papers and the stock of them.
 */
#ifndef STORE_SHELF_H
#define STORE_SHELF_H

#include "measure.h"
#include "store.h"

struct paper_row {
	int64_t studio_id, paper_id;
	const char *name;
	int64_t weight_gsm;
	const char *finish; /* "hot press", "cold press", "rough" */
	const char *fibre, *colour;
	bool active;
	int64_t version;
	const char *compare; /* JSON: pads and single sheets of the same paper,
	 * [{"name","width_u","length_u","sheets","price_minor"}]; NULL: none */
};

enum stock_kind { STOCK_FRESH, STOCK_ROLL_END, STOCK_OFFCUT, STOCK_FLAT };

struct stock_row {
	int64_t studio_id, stock_id, paper_id;
	int64_t
	    kind; /* enum stock_kind; "fresh", "roll-end", "offcut", "flat" outside */
	const char *name;
	length width_u, length_u;
	money price_minor;
	int64_t available;   /* UNLIMITED: as many as can be bought */
	const char *spoiled; /* JSON: [[from, to], ...] in 1/320 mm, "[]" */
	const char *lot, *place;
	int64_t from_plan_id;   /* the plan that left it, or 0 */
	const char *shelf_code; /* written on it, or "" */
	bool active;
	int64_t version;
	int64_t moved_by;  /* given: who changes it, for the books */
	int64_t moved_for; /* given: the plan that leaves it, or 0 */
};

/* struct paper_row */
void store_papers(struct store_tx *tx, int64_t studio_id, struct page page,
    store_rows_fn *fn, void *ctx);
void store_paper(struct store_tx *tx, int64_t studio_id, int64_t paper_id,
    store_rows_fn *fn, void *ctx);
void store_paper_add(struct store_tx *tx, const struct paper_row *paper,
    store_rows_fn *fn, void *ctx);
void store_paper_change(struct store_tx *tx, const struct paper_row *paper,
    store_rows_fn *fn, void *ctx);

/* struct stock_row; paper_id 0: of every paper */
void store_stocks(struct store_tx *tx, int64_t studio_id, int64_t paper_id,
    struct page page, store_rows_fn *fn, void *ctx);
void store_stock(struct store_tx *tx, int64_t studio_id, int64_t stock_id,
    store_rows_fn *fn, void *ctx);
/* By what is written on it; the newest first, should two plans have given the same code. */
void store_stock_by_code(struct store_tx *tx, int64_t studio_id,
    const char *shelf_code, store_rows_fn *fn, void *ctx);
void store_stock_add(struct store_tx *tx, const struct stock_row *stock,
    store_rows_fn *fn, void *ctx);
void store_stock_change(struct store_tx *tx, const struct stock_row *stock,
    store_rows_fn *fn, void *ctx);
/* What planning may use: active, available not 0, by id; all rows (at most PROBLEM_STOCK_MAX). */
void store_stock_usable(struct store_tx *tx, int64_t studio_id,
    int64_t paper_id, store_rows_fn *fn, void *ctx);
/* Take count pieces of limited stock for a plan; no row when fewer are there.  by: who takes
 * or gives back. */
void store_stock_take(struct store_tx *tx, int64_t studio_id, int64_t stock_id,
    int64_t count, int64_t plan_id, int64_t by, store_rows_fn *fn, void *ctx);
/* Give back what a plan took (it was superseded, or the workshop opened again). */
void store_stock_give_back(struct store_tx *tx, int64_t studio_id,
    int64_t plan_id, int64_t by, store_rows_fn *fn, void *ctx);

#endif
