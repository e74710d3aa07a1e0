/* SPDX-License-Identifier: MIT */
/*
 * An invoice into the books: with its lines, its booking, and the booking of the one it
 * replaces taken back.
 */
#ifndef WEB_INVOICING_H
#define WEB_INVOICING_H

#include "call.h"
#include "invoice.h"

typedef void invoice_put_fn(void *ctx, const struct invoice_row *invoice);
/* Of call->workshop, locked.  invoice->replaces_id: of the one in force, or 0; studio, workshop
 * and who enters it are filled in. */
void invoice_put(struct call *call, const struct invoice_row *invoice,
    const struct invoice_line_row *lines, invoice_put_fn *fn, void *ctx);

#endif
