/* SPDX-License-Identifier: MIT */
/*
 * code.c - pencil codes and the check code of a plan.
 *
 * A code is written by hand on a loose square of paper that may be picked up any way
 * round, and read by somebody else.  So letters that are mistaken for digits or for each
 * other are left out (I O Q S Z B, G for C and 6, J for I), and those that stand on their
 * head as another (W for M, V for a wide A or U).  The digit comes second, which tells the way up.
 * All codes of one list have the same number of signs: with A beside A2, a digit that was
 * rubbed off would hand the piece to somebody else.
 */
#include "sheet.h"

#include <assert.h>
#include <string.h>

static const char letters[] = "ACDEFHKLMNPRTUXY";
static const char digits[] = "247369";
#define N_LETTERS (sizeof(letters) - 1)
#define N_DIGITS (sizeof(digits) - 1)

const char *sheet_code(char buf[static SHEET_CODE_MAX], size_t index, size_t n)
{
	size_t len = 0, room = N_LETTERS, n_digits = 0;

	while (room < n && n_digits < SHEET_CODE_MAX - 2) {
		room *= N_DIGITS;
		n_digits++;
	}
	assert(index < room);
	/* neighbours in the list differ in the letter, the sign that is read best */
	buf[len++] = letters[index % N_LETTERS];
	for (index /= N_LETTERS; n_digits > 0; n_digits--) {
		buf[len++] = digits[index % N_DIGITS];
		index /= N_DIGITS;
	}
	buf[len] = '\0';
	return buf;
}

/* FNV-1a, 64 bits (Fowler, Noll and Vo): for telling plans apart, not for secrets */
static uint64_t mix(uint64_t hash, int64_t value)
{
	for (int i = 0; i < 8; i++) {
		hash ^= (uint64_t)value >> (8 * i) & 0xff;
		hash *= UINT64_C(0x100000001b3);
	}
	return hash;
}

static uint64_t mix_text(uint64_t hash, const char *s)
{
	for (; s && *s; s++)
		hash = mix(hash, (unsigned char)*s);
	return mix(hash, -1);
}

static uint64_t mix_strip(uint64_t hash, const struct strip *strip)
{
	hash = mix(mix(hash, strip->at), strip->height);
	for (size_t i = 0; i < strip->n_segments; i++) {
		const struct segment *segment = &strip->segments[i];
		hash = mix(mix(hash, segment->at), segment->width);
		for (size_t k = 0; k < segment->n_pieces; k++) {
			const struct placed *p = &segment->pieces[k];
			hash = mix(mix(hash, (int64_t)p->piece), p->at);
			hash = mix(mix(hash, p->across), p->along);
		}
	}
	return mix(hash, -1);
}

const char *sheet_check(
    char buf[static SHEET_CHECK_MAX], const struct sheet_input *input)
{
	uint64_t hash = mix(UINT64_C(0xcbf29ce484222325), input->number);

	for (size_t i = 0; i < input->n_papers; i++) {
		const struct plan *plan = input->papers[i].plan;
		hash = mix_text(hash, input->papers[i].name);
		for (size_t r = 0; r < plan->n_rolls; r++) {
			hash = mix(hash, (int64_t)plan->rolls[r].stock);
			hash = mix(mix(hash, plan->rolls[r].width),
			    plan->rolls[r].length);
			for (size_t s = 0; s < plan->rolls[r].n_strips; s++)
				hash =
				    mix_strip(hash, &plan->rolls[r].strips[s]);
		}
	}
	for (int i = 0; i < 4; i++) {
		buf[i] = letters[hash % N_LETTERS];
		hash /= N_LETTERS;
	}
	buf[4] = '\0';
	return buf;
}
