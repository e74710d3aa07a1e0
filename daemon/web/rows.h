/* SPDX-License-Identifier: MIT */
/*
 * Copies of the store's rows that live as long as an arena.
 */
#ifndef WEB_ROWS_H
#define WEB_ROWS_H

#include "arena.h"
#include "journal.h"
#include "invoice.h"
#include "ledger.h"
#include "people.h"
#include "planning.h"
#include "shelf.h"
#include "workshop.h"

struct studio row_keep_studio(struct arena *a, const struct studio *row);
struct caller row_keep_caller(struct arena *a, const struct caller *row);
struct member row_keep_member(struct arena *a, const struct member *row);
struct key row_keep_key(struct arena *a, const struct key *row);
struct session row_keep_session(struct arena *a, const struct session *row);
struct invitation row_keep_invitation(
    struct arena *a, const struct invitation *row);
struct paper_row row_keep_paper(struct arena *a, const struct paper_row *row);
struct stock_row row_keep_stock(struct arena *a, const struct stock_row *row);
struct workshop_row row_keep_workshop(
    struct arena *a, const struct workshop_row *row);
struct request_row row_keep_request(
    struct arena *a, const struct request_row *row);
struct plan_row row_keep_plan(struct arena *a, const struct plan_row *row);
struct job_row row_keep_job(struct arena *a, const struct job_row *row);
struct invoice_row row_keep_invoice(
    struct arena *a, const struct invoice_row *row);
struct invoice_line_row row_keep_line(
    struct arena *a, const struct invoice_line_row *row);
struct settlement_row row_keep_settlement(
    struct arena *a, const struct settlement_row *row);
struct entry_row row_keep_entry(struct arena *a, const struct entry_row *row);
struct balance_row row_keep_balance(
    struct arena *a, const struct balance_row *row);
struct spoken_row row_keep_spoken(
    struct arena *a, const struct spoken_row *row);

#endif
