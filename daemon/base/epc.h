/* SPDX-License-Identifier: MIT */
/*
 * What a payment's QR code says, by the guideline EPC069-12 of the European Payments
 * Council: eleven or twelve lines, at most 331 bytes, UTF-8, for a QR code of error level M
 * and at most version 13.  A bank's program fills in the transfer; the payer still looks
 * and confirms.
 */
#ifndef BASE_EPC_H
#define BASE_EPC_H

#include <stdbool.h>

#include "err.h"
#include "measure.h"
#include "text.h"

#define EPC_MAX 331
#define EPC_NAME_MAX 70                     /* signs */
#define EPC_AMOUNT_MAX INT64_C(99999999999) /* euro cents */

struct epc {
	const char *
	    bic; /* NULL: none; then version 002, for accounts within the EEA only */
	const char *name; /* of the payee */
	const char *iban;
	money amount;          /* euro cents */
	const char *purpose;   /* four letters, or NULL */
	const char *reference; /* ISO 11649, or NULL; excludes text */
	const char *text;      /* for the payee, or NULL */
	const char *hint;      /* for the payer, or NULL */
};

/* Refused, naming the field and its limit, when a field is longer than the guideline allows. */
bool epc_write(
    const struct epc *payment, struct text *out, struct err *err) MUST_USE;

#endif
