/* SPDX-License-Identifier: MIT */
/*
 * Invoices entered, replaced, withdrawn.  Actions as in act_request.h.
 *
 * What was entered is never changed, and nobody is charged by entering it: settling is.
 */
#ifndef WEB_ACT_INVOICE_H
#define WEB_ACT_INVOICE_H

#include "call.h"
#include "invoice.h"

#define LINES_MAX 100

typedef void act_invoice_fn(
    struct call *call, const struct invoice_row *invoice);

/* To call->workshop, locked.  Lines without an amount get count x unit_minor first (line_fill). */
void act_invoice_add(struct call *call, const struct invoice_row *invoice,
    const struct invoice_line_row *lines, act_invoice_fn *done);
/* In place of call->invoice, its workshop locked; invoice->reason says why. */
void act_invoice_replace(struct call *call, const struct invoice_row *invoice,
    const struct invoice_line_row *lines, act_invoice_fn *done);
void act_invoice_withdraw(
    struct call *call, const char *reason, act_invoice_fn *done);

/* "8.875" into 88750 and back: percent with up to four decimals, 0 to 1000. */
bool percent_read(const char *text, int64_t *ppm) MUST_USE;
const char *percent_text(struct call *call, int64_t ppm);

#endif
