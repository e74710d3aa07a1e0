/* SPDX-License-Identifier: MIT */
/*
 * From what an action gathered to the papers of print/: statements, accounts; and a folio as
 * a part of a page.
 */
#ifndef WEB_PAPERS_H
#define WEB_PAPERS_H

#include "account.h"
#include "act_account.h"
#include "act_money.h"
#include "call.h"
#include "html.h"
#include "statement.h"

/* The caller's to folio_delete(). on_page: in the language of the pages. */
struct folio *papers_statement(
    struct call *call, const struct statement *statement, bool on_page);
struct folio *papers_account(
    struct call *call, const struct account *account, bool on_page);

/* rows: struct owing_row */
struct folio *papers_reminders(
    struct call *call, const struct owing_row *rows, size_t n, bool on_page);

/* Entries as lines, from the call's arena. */
const struct entry_line *papers_lines(struct call *call,
    const struct workshop_row *workshop, const struct entry_row *entries,
    size_t n);

/* "2026-11-28": the day of an instant in the studio's time zone. */
const char *papers_day(struct call *call, const char *instant);

/* The blocks of a folio; its title is the frame's. */
void folio_write(struct html *h, const struct folio *folio);

#endif
