/* SPDX-License-Identifier: MIT */
/*
 * What most tests of the store begin with: a studio, its people, papers, a workshop.
 */
#ifndef TESTS_STORE_SCENE_H
#define TESTS_STORE_SCENE_H

#include <stdint.h>

#include "desk.h"
#include "journal.h"
#include "ledger.h"
#include "people.h"
#include "planning.h"
#include "shelf.h"
#include "workshop.h"

/* One question: r holds the reply; the error is printed when it was not expected. */
#define ASK(desk, r, call)                                                     \
	do {                                                                   \
		call;                                                          \
		if (!desk_wait(desk, &(r))) {                                  \
			failures++;                                            \
			printf("%s:%d: %s: %s\n", __FILE__, __LINE__, running, \
			    (r).err.text);                                     \
		}                                                              \
	} while (0)

struct scene { /* a studio with what most tests need */
	int64_t studio, owner, student, paper, other_paper, workshop;
};

void secret(unsigned char hash[32], int n);
int64_t new_studio(struct desk *desk);
int64_t new_member(
    struct desk *desk, int64_t studio, const char *name, int64_t roles);
int64_t new_paper(struct desk *desk, int64_t studio, const char *name);
struct scene new_scene(struct desk *desk);
/* A request of the student for the scene's paper: 12 x 16 in, margin 1/4 in. */
struct request_row sample_request(const struct scene *s, int64_t count);
int64_t new_request(struct desk *desk, const struct scene *s, int64_t count);
/* A plan with one job, the job done with this result, the plan ready; the plan's id. */
int64_t new_plan(struct desk *desk, const struct scene *s);
/* ... and accepted, the workshop torn. */
int64_t new_torn(struct desk *desk, const struct scene *s);
void enter(struct desk *desk, const struct scene *s, enum workshop_state from,
    enum workshop_state to, int64_t plan);

#endif
