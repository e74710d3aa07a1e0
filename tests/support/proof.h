/* SPDX-License-Identifier: MIT */
/*
 * Checks a certificate of the bound on fresh rolls, without any code of the planner: its
 * own tables, one cell for each length.
 */
#ifndef TESTS_PROOF_H
#define TESTS_PROOF_H

#include "plan.h"

enum proof_verdict {
	PROOF_GOOD, /* no plan has fewer rolls */
	PROOF_BAD,  /* the prices do not show it */
	PROOF_NONE, /* the certificate has no prices */
	PROOF_TOO_LARGE /* lengths with so small a common measure are not checked here */
};

/* json as plan_proof_write() writes it; *why says what is wrong. */
enum proof_verdict proof_check(const struct problem *problem, const char *json,
    size_t len, const char **why);

/* The same for the certificate that this plan carries, written out and read again. */
enum proof_verdict proof_of_plan(
    const struct problem *problem, const struct plan *plan, const char **why);

#endif
