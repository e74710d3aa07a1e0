/* SPDX-License-Identifier: MIT */
/*
 * Amounts as a studio's locale groups and writes them, for paper and pages: "12,345.50 USD",
 * "12.345,50 EUR", "1,23,456.00 INR".  Files for programs (JSON, CSV, --plain) hold whole minor
 * units, or money_print()'s plain figure.
 *
 * A locale is a tag of BCP 47 out of a table: "en", "de", "de-CH", "fr" ...
 */
#ifndef BASE_FIGURES_H
#define BASE_FIGURES_H

#include <stdbool.h>
#include <stddef.h>

#include "measure.h"

#define FIGURES_MAX 96
#define FIGURES_DEFAULT "en"

/* True when the table has it. */
bool figures_known(const char *locale);
/* The i-th tag of the table, NULL behind the last. */
const char *figures_locale(size_t i);
/* "de" of "de-CH": in which language words are printed. */
const char *figures_language(char buf[static 8], const char *locale);
/* With its currency code behind it; an unknown locale is FIGURES_DEFAULT. */
const char *figures_money(char buf[static FIGURES_MAX], money m,
    const char *code, const char *locale);
/* A plain figure ("-12345.50", as money_print() without its code) in the locale's way. */
const char *figures_write(
    char buf[static FIGURES_MAX], const char *plain, const char *locale);

#endif
