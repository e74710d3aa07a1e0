/* SPDX-License-Identifier: MIT */
/*
 * Account numbers of banks by ISO 13616: country, two check digits, the bank's own number.
 *
 * What is checked: the country is in the registry, the number is as long as the registry says
 * for it, all signs are letters and digits, and the whole is 1 modulo 97.  That an account
 * exists only its bank knows.
 */
#ifndef BASE_IBAN_H
#define BASE_IBAN_H

#include <stdbool.h>
#include <stddef.h>

#include "err.h"

#define IBAN_MAX 35 /* 34 signs */

/* True when s looks as if an IBAN were meant: two letters, then two digits. */
bool iban_is_meant(const char *s);
/* As typed, in groups or not, to as machines write it; refused with what is wrong. */
bool iban_read(
    char out[static IBAN_MAX], const char *s, struct err *err) MUST_USE;
/* Of a country of the European Economic Area? iban as iban_read() gives it. */
bool iban_is_eea(const char *iban);

#endif
