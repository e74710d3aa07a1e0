/* SPDX-License-Identifier: MIT */
/*
 * judge.c - a planner's answer is a claim until the inspector has walked over it.
 *
 * The planner is a child that may have been killed half-way or hit by a fault; and a plan
 * that was stored is printed and torn from.
 */
#include "judge.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include <openssl/evp.h>

#include "inspect.h"
#include "problem.h"
#include "text.h"

#define PLAN_PRICE_MAX INT64_C(1000000000000000)

static bool is_sane(const struct alone *a)
{
	return a->price >= 0 && a->price <= PLAN_PRICE_MAX && a->kept >= 0 &&
	       a->bought >= a->kept;
}

/* Every owner once at most, by name, with sums that can be. */
static bool judge_alone(
    const struct problem *problem, const struct plan *plan, struct err *err)
{
	for (size_t i = 0; i < plan->n_alone; i++) {
		const struct alone *a = &plan->alone[i];
		bool known = false;

		for (size_t k = 0; k < problem->n_pieces && !known; k++)
			known = problem->pieces[k].owner &&
				strcmp(problem->pieces[k].owner, a->owner) == 0;
		if (!known ||
		    (i > 0 && strcmp(plan->alone[i - 1].owner, a->owner) >= 0))
			return err_set(err, ERR_INPUT,
			    "the plan tells of an owner \"%.80s\" twice or not "
			    "asked for",
			    a->owner);
		if (!is_sane(a))
			return err_set(err, ERR_INPUT,
			    "the stand-alone plan of \"%.80s\" makes no sense",
			    a->owner);
	}
	return true;
}

static bool judge_hint(const struct problem *problem, const struct hint *h)
{
	const struct piece *p = NULL;

	if (h->piece >= problem->n_pieces)
		return false;
	p = &problem->pieces[h->piece];
	if (h->across < 1 || h->across > p->across || h->along < 1 ||
	    h->along > p->along || h->fits < 1 || h->kept < 0 ||
	    h->bought < h->kept || h->totals.price < 0 ||
	    h->totals.price > PLAN_PRICE_MAX)
		return false;
	return p->owner == NULL ||
	       (h->alone.owner != NULL &&
		   strcmp(h->alone.owner, p->owner) == 0 && is_sane(&h->alone));
}

/* What is said beside the plan is about entries that there are, and no dearer than the plan. */
static bool judge_estimate(
    const struct problem *problem, const struct plan *plan, struct err *err)
{
	for (size_t i = 0; i < plan->n_without; i++) {
		const struct without *w = &plan->without[i];

		if (w->piece >= problem->n_pieces || w->price < 0 ||
		    w->fresh_rolls < 0 || w->price > plan->totals.price)
			return err_set(err, ERR_INPUT,
			    "what entry %zu adds makes no sense", w->piece);
	}
	for (size_t i = 0; i < plan->n_hints; i++)
		if (!judge_hint(problem, &plan->hints[i]))
			return err_set(err, ERR_INPUT,
			    "the hint for entry %zu makes no sense",
			    plan->hints[i].piece);
	return true;
}

bool judge_result(const char *problem_text, const char *result, size_t len,
    char code[CHECK_CODE_SIZE], struct err *err)
{
	struct problem *problem = NULL;
	struct plan *plan = NULL;
	bool ok = problem_read(problem_text, strlen(problem_text), &problem,
		      NULL, err) &&
		  plan_read(result, len, &plan, err) &&
		  plan_inspect(problem, plan, err) &&
		  judge_alone(problem, plan, err) &&
		  judge_estimate(problem, plan, err);
	if (ok)
		plan_check_code(plan, code);
	plan_delete(plan);
	problem_delete(problem);
	return ok;
}

/* ---- the check code ---- */

/* No I O Q S Z B, which are read as digits; no vowels, so that it spells nothing. */
static const char letters[] = "CDFGHJKLMNPRTVWXY";

static void add_number(EVP_MD_CTX *sha, int64_t n)
{
	unsigned char bytes[8];
	for (int i = 0; i < 8; i++)
		bytes[i] = (unsigned char)((uint64_t)n >> (8 * (7 - i)));
	EVP_DigestUpdate(sha, bytes, sizeof(bytes));
}

static void add_strip(EVP_MD_CTX *sha, const struct strip *strip)
{
	add_number(sha, strip->at);
	add_number(sha, strip->height);
	add_number(sha, (int64_t)strip->n_segments);
	for (size_t s = 0; s < strip->n_segments; s++) {
		const struct segment *segment = &strip->segments[s];
		add_number(sha, segment->at);
		add_number(sha, segment->width);
		add_number(sha, (int64_t)segment->n_pieces);
		for (size_t p = 0; p < segment->n_pieces; p++) {
			const struct placed *placed = &segment->pieces[p];
			add_number(sha, (int64_t)placed->piece);
			add_number(sha, placed->at);
			add_number(sha, placed->across);
			add_number(sha, placed->along);
			add_number(sha, placed->turned);
		}
	}
}

void plan_check_code(const struct plan *plan, char code[CHECK_CODE_SIZE])
{
	unsigned char hash[EVP_MAX_MD_SIZE];
	EVP_MD_CTX *sha = EVP_MD_CTX_new();
	if (!sha || EVP_DigestInit_ex(sha, EVP_sha256(), NULL) != 1)
		abort();
	add_number(sha, (int64_t)plan->n_rolls);
	for (size_t r = 0; r < plan->n_rolls; r++) {
		const struct roll *roll = &plan->rolls[r];
		add_number(sha, (int64_t)roll->stock);
		add_number(sha, roll->quarter);
		add_number(sha, (int64_t)roll->n_strips);
		for (size_t s = 0; s < roll->n_strips; s++)
			add_strip(sha, &roll->strips[s]);
	}
	EVP_DigestFinal_ex(sha, hash, NULL);
	EVP_MD_CTX_free(sha);
	uint64_t number = 0;
	for (int i = 0; i < 8; i++)
		number = number << 8 | hash[i];
	for (int i = 0; i < CHECK_CODE_SIZE - 1; i++) {
		code[i] = letters[number % (sizeof(letters) - 1)];
		number /= sizeof(letters) - 1;
	}
	code[CHECK_CODE_SIZE - 1] = '\0';
}

/* ---- progress ---- */

static int64_t *progress_field(
    struct job_row *job, const char *name, size_t len)
{
	const struct {
		const char *name;
		int64_t *field;
	} fields[] = {
	    {"fresh_rolls", &job->best_rolls},
	    {"price", &job->best_price_minor},
	    {"strip_length", &job->best_length_u},
	    {"bound_rolls", &job->bound_rolls},
	    {"bound_price", &job->bound_price_minor},
	    {"bound_length", &job->bound_length_u},
	    {"steps", &job->steps},
	};
	for (size_t i = 0; i < sizeof(fields) / sizeof(fields[0]); i++)
		if (strlen(fields[i].name) == len &&
		    memcmp(fields[i].name, name, len) == 0)
			return fields[i].field;
	return NULL;
}

bool progress_read(const char *line, struct job_row *job)
{
	static const char word[] = "progress ";
	if (strncmp(line, word, sizeof(word) - 1) != 0)
		return false;
	for (const char *at = line + sizeof(word) - 1; *at;) {
		const char *equals = strchr(at, '=');
		if (!equals)
			break;
		char *end = NULL;
		int64_t *field = progress_field(job, at, (size_t)(equals - at));
		int64_t value = strtoll(equals + 1, &end, 10);
		if (end == equals + 1)
			break;
		if (field && value >= -1)
			*field = value;
		at = end + strspn(end, " ");
	}
	return true;
}
