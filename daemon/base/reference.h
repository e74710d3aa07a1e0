/* SPDX-License-Identifier: MIT */
/*
 * The reference that a payer writes on a transfer, so that the payment finds its account by
 * itself: "RF18 5390 0754 7034" (ISO 11649), two check digits and at most 21 letters and
 * digits.  Ours say the workshop and the member: "RF68 7M12".
 */
#ifndef BASE_REFERENCE_H
#define BASE_REFERENCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define REFERENCE_MAX 26 /* as machines write it: 25 signs */
#define REFERENCE_ID_MAX                                                       \
	INT64_C(9999999999) /* two of them and an M are 21 signs */

/*
 * What is left when letters and digits, read as one number (A is 10, ... Z is 35), are
 * divided by 97 (ISO 7064, MOD 97-10); -1 when another sign is among them.
 */
int mod_97(const char *s, size_t len);

/* False, and out is "": the body is empty, longer than 21 signs, or has other signs. */
bool reference_make(char out[static REFERENCE_MAX], const char *body);
/* Of a member in a workshop; false when an id is not within 1 .. REFERENCE_ID_MAX. */
bool reference_of(
    char out[static REFERENCE_MAX], int64_t workshop_id, int64_t member_id);
/* As typed, in groups or not, in small letters or not, to as machines write it; false and ""
 * when it is none or its check digits are wrong. */
bool reference_read(char out[static REFERENCE_MAX], const char *s);
/* Is it one of ours?  Then whose. */
bool reference_whose(const char *s, int64_t *workshop_id, int64_t *member_id);
/* "RF18 5390 0754 7034"; s has at most 34 signs, and so have IBANs. */
#define GROUPED_MAX 48
const char *grouped_by_four(char out[static GROUPED_MAX], const char *s);

#endif
