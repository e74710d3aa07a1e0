/* SPDX-License-Identifier: MIT */
/*
 * share - how long sharing takes as members grow, beside a plain proportional split in
 * doubles that rounds each share alone (and so neither adds up nor keeps a ceiling).
 *
 *     share        prints for each size: the times, growth a size, and the ratio
 *
 * The order has three papers, six lines of cost and the ceiling; about a third of the members
 * are over it.  Processor time, the best of several runs.
 */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "alloc.h"
#include "derive.h"

#define PAPERS 3
#define RUNS 9
#define SPLITS                                                                 \
	4 /* three papers and the common lines, as share_derive() makes them */

static double now(void)
{
	struct timespec t;
	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static uint64_t seed = 7;

static int64_t pick(int64_t from, int64_t to)
{
	seed = seed * UINT64_C(6364136223846793005) +
	       UINT64_C(1442695040888963407);
	return from + (int64_t)((seed >> 33) % (uint64_t)(to - from + 1));
}

struct made {
	struct share_member *members;
	area *used;
	struct share_alone *alone;
};

static void make(struct made *m, size_t n, struct share_of_paper papers[])
{
	m->members = xcalloc(n, sizeof(*m->members));
	m->used = xcalloc(n * PAPERS, sizeof(*m->used));
	m->alone = xcalloc(n * PAPERS, sizeof(*m->alone));
	for (size_t i = 0; i < n; i++) {
		m->members[i] =
		    (struct share_member){.member_id = (int64_t)i + 1,
			.used = &m->used[i * PAPERS],
			.alone = &m->alone[i * PAPERS]};
		for (size_t p = 0; p < PAPERS; p++) {
			money fair = papers[p].planned / (money)n;

			m->used[i * PAPERS + p] = pick(1, INT64_C(1000000000));
			m->alone[i * PAPERS + p] = (struct share_alone){
			    .price = fair * pick(70, 160) / 100, .bought = 1};
		}
	}
}

static void made_free(struct made *m)
{
	free(m->members);
	free(m->used);
	free(m->alone);
}

static double time_derive(const struct share_order *order)
{
	double best = 1e9;

	for (int run = 0; run < RUNS; run++) {
		struct arena *arena = arena_new((size_t)1 << 30);
		struct share_result *result = NULL;
		struct err err = {0};
		double start = now(), took = 0;

		if (!share_derive(order, arena, &result, &err)) {
			fprintf(stderr, "share: %s\n", err.text);
			exit(1);
		}
		took = now() - start;
		if (result->ceiling != CEILING_KEPT || result->rounds == 0) {
			fprintf(stderr, "share: nobody was over the ceiling\n");
			exit(1);
		}
		best = took < best ? took : best;
		arena_delete(arena);
	}
	return best;
}

static double time_plain(const struct share_order *order, double *due)
{
	double best = 1e9;

	for (int run = 0; run < RUNS; run++) {
		double start = now(), took = 0;

		for (size_t i = 0; i < order->n_members; i++)
			due[i] = 0;
		for (size_t s = 0; s < SPLITS; s++) {
			double total = 0;

			for (size_t i = 0; i < order->n_members; i++)
				total +=
				    (double)order->members[i].used[s % PAPERS];
			for (size_t i = 0; i < order->n_members; i++)
				due[i] +=
				    (double)(int64_t)(1e6 *
							  (double)order
							      ->members[i]
							      .used[s %
								    PAPERS] /
							  total +
						      0.5);
		}
		took = now() - start;
		best = took < best ? took : best;
	}
	return best;
}

int main(void)
{
	static const size_t sizes[] = {10, 100, 1000, 10000, 100000};
	double before = 0;

	printf("members\tshare_ms\tgrowth\tplain_ms\tratio\n");
	for (size_t k = 0; k < sizeof(sizes) / sizeof(sizes[0]); k++) {
		size_t n = sizes[k];
		struct share_of_paper papers[PAPERS] = {
		    {1, 2000 * (money)n, 1, 0}, {2, 3000 * (money)n, 1, 0},
		    {3, 1000 * (money)n, 1, 0}};
		struct share_line lines[] = {{1, COST_ROLLS, 2000 * (money)n},
		    {2, COST_ROLLS, 3000 * (money)n},
		    {3, COST_ROLLS, 1000 * (money)n}, {0, COST_SHIPPING, 900},
		    {1, COST_TAX, 900 * (money)n}, {0, COST_DISCOUNT, -777}};
		struct made m;
		double share, plain, *due = xcalloc(n, sizeof(*due));

		make(&m, n, papers);
		share = time_derive(&(struct share_order){.workshop_id = 1,
		    .rules = share_rules_usual(SHARE_ORDER),
		    .lines = lines,
		    .n_lines = 6,
		    .papers = papers,
		    .n_papers = PAPERS,
		    .members = m.members,
		    .n_members = n});
		plain = time_plain(
		    &(struct share_order){.members = m.members, .n_members = n},
		    due);
		printf("%zu\t%.3f\t%.1f\t%.4f\t%.0f\n", n, share * 1e3,
		    before > 0 ? share / before : 0, plain * 1e3,
		    share / plain);
		before = share;
		made_free(&m);
		free(due);
	}
	return 0;
}
