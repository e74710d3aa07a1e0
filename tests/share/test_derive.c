/* SPDX-License-Identifier: MIT */
/*
 * Sharing by policies: examples by hand (docs/share.md), published cost games
 * (tests/data/trade/apportionment/cost-*.json, sources in INDEX.md), and the promises of
 * the policies over thousands of seeded orders.
 */
#include "derive.h"

#include <criterion/criterion.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#define GAMES DATA_DIR "/trade/apportionment"
#define MEMBERS_MOST 30
#define PAPERS_MOST 4
#define LINES_MOST 12

/* ---- orders to play with ---- */

struct made {
	struct share_order order;
	struct share_line lines[LINES_MOST];
	struct share_of_paper papers[PAPERS_MOST];
	struct share_member members[MEMBERS_MOST];
	area used[MEMBERS_MOST][PAPERS_MOST];
	struct share_alone alone[MEMBERS_MOST][PAPERS_MOST];
};

static void link_up(struct made *m)
{
	m->order.lines = m->lines;
	m->order.papers = m->papers;
	m->order.members = m->members;
	for (size_t i = 0; i < m->order.n_members; i++) {
		m->members[i].used = m->used[i];
		if (m->members[i].alone)
			m->members[i].alone = m->alone[i];
	}
}

/* One paper at `cost`, members with these areas and stand-alone prices. */
static void one_paper(struct made *m, money cost, size_t n, const area used[],
    const money alone[])
{
	memset(m, 0, sizeof(*m));
	m->order.workshop_id = 1;
	m->order.rules = share_rules_usual(SHARE_ORDER);
	m->order.n_lines = 1;
	m->lines[0] = (struct share_line){7, COST_ROLLS, cost};
	m->order.n_papers = 1;
	m->papers[0] = (struct share_of_paper){7, cost, 1000, 0};
	m->order.n_members = n;
	for (size_t i = 0; i < n; i++) {
		m->members[i].member_id = (int64_t)i + 1;
		m->used[i][0] = used[i];
		m->alone[i][0].price = alone[i];
		m->members[i].alone = m->alone[i];
	}
	link_up(m);
}

static struct share_result *derive(struct arena *arena, const struct made *m)
{
	struct share_result *r = NULL;
	struct err err = {0};
	cr_assert(share_derive(&m->order, arena, &r, &err), "%s", err.text);
	return r;
}

static bool refused(const struct made *m, const char *why)
{
	struct arena *arena = arena_new(1 << 20);
	struct share_result *r = NULL;
	struct err err = {0};
	bool ok = share_derive(&m->order, arena, &r, &err);
	cr_expect(!ok && strstr(err.text, why), "%s: %s", why, err.text);
	arena_delete(arena);
	return !ok;
}

static uint64_t seed;

static int64_t pick(int64_t from, int64_t to)
{
	seed = seed * UINT64_C(6364136223846793005) +
	       UINT64_C(1442695040888963407);
	return from + (int64_t)((seed >> 33) % (uint64_t)(to - from + 1));
}

/* Stand-alone plans that together cost at least the pooled plan, as the planner's do. */
static void pick_alone(struct made *m)
{
	for (size_t p = 0; p < m->order.n_papers; p++) {
		money sum = 0;
		size_t first = MEMBERS_MOST;
		for (size_t i = 0; i < m->order.n_members; i++) {
			if (m->used[i][p] == 0)
				continue;
			if (first == MEMBERS_MOST)
				first = i;
			m->alone[i][p].price =
			    pick(0, 2 * m->papers[p].planned / 5 + 10);
			m->alone[i][p].bought = 1000;
			m->alone[i][p].kept = pick(0, 900);
			sum += m->alone[i][p].price;
		}
		if (first != MEMBERS_MOST && sum < m->papers[p].planned)
			m->alone[first][p].price += m->papers[p].planned - sum;
	}
}

static void pick_lines(struct made *m)
{
	static const enum cost_kind kinds[] = {COST_ROLLS, COST_SHELF,
	    COST_SHIPPING, COST_TAX, COST_DISCOUNT, COST_OTHER};
	for (size_t p = 0; p < m->order.n_papers; p++)
		m->lines[m->order.n_lines++] =
		    (struct share_line){m->papers[p].paper_id, COST_ROLLS,
			m->papers[p].planned + pick(0, 500)};
	while (m->order.n_lines < (size_t)pick(1, LINES_MOST)) {
		enum cost_kind kind = kinds[pick(0, 5)];
		money amount = pick(0, 3000);
		m->lines[m->order.n_lines++] = (struct share_line){
		    pick(0, 2)
			? 0
			: m->papers[pick(0, (int64_t)m->order.n_papers - 1)]
			      .paper_id,
		    kind, kind == COST_DISCOUNT ? -amount / 4 : amount};
	}
}

static void pick_order(struct made *m)
{
	memset(m, 0, sizeof(*m));
	m->order.workshop_id = pick(1, 1000);
	m->order.rules = (struct share_rules){
	    pick(0, 3) ? SHARE_ORDER : SHARE_TORN, pick(0, 3), !pick(0, 3)};
	m->order.n_papers = (size_t)pick(1, PAPERS_MOST);
	m->order.n_members = (size_t)pick(1, MEMBERS_MOST);
	for (size_t p = 0; p < m->order.n_papers; p++)
		m->papers[p] = (struct share_of_paper){(int64_t)(p * 7 % 5) + 1,
		    pick(0, 3) ? pick(1, 60000) : 0, 100000, pick(0, 90000)};
	for (size_t i = 0; i < m->order.n_members; i++) {
		m->members[i].member_id = (int64_t)i * 3 + 1;
		m->members[i].alone = m->alone[i];
		for (size_t p = 0; p < m->order.n_papers; p++)
			m->used[i][p] = pick(0, 2) == 0 ? 0
					: pick(0, 1) == 0
					    ? pick(1, 6)
					    : pick(1, INT64_C(2000000000));
	}
	for (size_t p = 0; p < m->order.n_papers; p++)
		m->used[0][p]++;
	pick_lines(m);
	pick_alone(m);
	link_up(m);
}

/* ---- examples ---- */

/* docs/share.md, "The whole order": one roll, areas 10:7:4. */
Test(derive, tells_the_share_line_by_line)
{
	struct made m;
	struct arena *arena = arena_new(1 << 20);
	one_paper(
	    &m, 16200, 3, (area[]){10, 7, 4}, (money[]){16200, 16200, 16200});
	struct share_result *r = derive(arena, &m);
	cr_assert_eq(r->n_pots, 1);
	cr_expect_eq(r->pots[0].amount, 16200);
	cr_expect_eq(r->pots[0].total, 21);
	static const struct share_step steps[] = {
	    {0, 10, 7714, 6, false, 7714},
	    {0, 7, 5400, 0, false, 5400},
	    {0, 4, 3085, 15, true, 3086},
	};
	for (size_t i = 0; i < 3; i++) {
		const struct share_step *s = &r->members[i].steps[0];
		cr_assert_eq(r->members[i].n_steps, 1);
		cr_expect(
		    s->own == steps[i].own && s->whole == steps[i].whole &&
			s->rest == steps[i].rest && s->odd == steps[i].odd &&
			s->paid == steps[i].paid,
		    "member %zu", i);
		cr_expect_eq(r->members[i].share, s->paid);
	}
	cr_expect_eq(r->ceiling, CEILING_KEPT);
	cr_expect_eq(r->rounds, 0);
	arena_delete(arena);
}

/* docs/share.md, "Several lines": shipping by area and shipping each. */
Test(derive, adds_common_lines)
{
	struct made m;
	struct arena *arena = arena_new(1 << 20);
	one_paper(
	    &m, 16200, 3, (area[]){10, 7, 4}, (money[]){16200, 16200, 16200});
	m.order.n_lines = 4;
	m.lines[1] = (struct share_line){0, COST_SHIPPING, 1200};
	m.lines[2] = (struct share_line){0, COST_TAX, 3480};
	m.lines[3] = (struct share_line){0, COST_DISCOUNT, -500};
	struct share_result *r = derive(arena, &m);
	cr_expect_eq(r->cost, 20380);
	cr_expect_eq(r->n_pots, 1, "one paper, so all lines go by its area");
	/* 20380 x 10/21 = 9704.76, x 7/21 = 6793.33, x 4/21 = 3881.90 */
	cr_expect_eq(r->members[0].share, 9705);
	cr_expect_eq(r->members[1].share, 6793);
	cr_expect_eq(r->members[2].share, 3882);
	m.order.rules.shipping_each = true;
	r = derive(arena, &m);
	cr_expect_eq(r->n_pots, 2);
	cr_expect_eq(r->pots[1].by, POT_EACH);
	/* 19180 x 10/21 = 9133.33, x 7/21 = 6393.33, x 4/21 = 3653.33; and 400 each */
	cr_expect_eq(r->members[0].share, 9134 + 400,
	    "equal remainders: the larger area takes the odd cent");
	cr_expect_eq(r->members[1].share, 6393 + 400);
	cr_expect_eq(r->members[2].share, 3653 + 400);
	arena_delete(arena);
}

/* docs/share.md, "What was torn": of 16,200 sq in 5,400 go back to the shelf. */
Test(derive, lets_the_studio_keep_the_roll_end_at_cost)
{
	struct made m;
	struct arena *arena = arena_new(1 << 20);
	one_paper(
	    &m, 16200, 3, (area[]){10, 7, 4}, (money[]){16200, 16200, 16200});
	m.order.rules = share_rules_usual(SHARE_TORN);
	m.papers[0].bought = 16200;
	m.papers[0].kept = 5400;
	struct share_result *r = derive(arena, &m);
	cr_expect_eq(r->kept, 5400);
	cr_expect_eq(r->kept_values[0], 5400);
	cr_expect_eq(r->pots[0].amount, 10800);
	/* 10800 x 10/21 = 5142.86, x 7/21 = 3600, x 4/21 = 2057.14 */
	cr_expect_eq(r->members[0].share, 5143);
	cr_expect_eq(r->members[1].share, 3600);
	cr_expect_eq(r->members[2].share, 2057);
	cr_expect_eq(r->ceiling, CEILING_OFF);
	arena_delete(arena);
}

/* Four members at 100 each by area; two rounds: the second is over only after the first's excess. */
Test(derive, spreads_the_excess_until_nobody_is_over)
{
	struct made m;
	struct arena *arena = arena_new(1 << 20);
	one_paper(
	    &m, 400, 4, (area[]){5, 5, 5, 5}, (money[]){40, 110, 400, 400});
	m.papers[0].planned = 400;
	struct share_result *r = derive(arena, &m);
	/* 60 over three is 20 each: the second may take 10 only; 50 over two is 25 */
	cr_expect_eq(r->ceiling, CEILING_KEPT);
	cr_expect_eq(r->rounds, 2);
	cr_expect_eq(r->members[0].round, 1);
	cr_expect_eq(r->members[1].round, 2);
	cr_expect_eq(r->excess, 50);
	cr_expect_eq(r->members[0].share, 40);
	cr_expect_eq(r->members[1].share, 110);
	cr_expect_eq(r->members[2].share, 125);
	cr_expect_eq(r->members[3].share, 125);
	arena_delete(arena);
}

Test(derive, says_so_when_the_ceilings_are_below_the_cost)
{
	struct made m;
	struct arena *arena = arena_new(1 << 20);
	one_paper(&m, 400, 2, (area[]){3, 1}, (money[]){100, 200});
	struct share_result *r = derive(arena, &m);
	cr_expect_eq(r->ceiling, CEILING_TOO_LOW);
	cr_expect_eq(r->members[0].share, 300);
	cr_expect_eq(r->members[1].share, 100);
	m.members[1].alone = NULL;
	r = derive(arena, &m);
	cr_expect_eq(r->ceiling, CEILING_UNKNOWN);
	cr_expect_eq(r->members[0].share, 300);
	arena_delete(arena);
}

/* ---- published games ---- */

static json_t *game(const char *name)
{
	char path[1024];
	snprintf(path, sizeof(path), GAMES "/%s.json", name);
	json_t *root = json_load_file(path, 0, NULL);
	cr_assert(root, "%s", path);
	return root;
}

static money at(json_t *object, const char *list, const char *key)
{
	json_t *value = json_object_get(json_object_get(object, list), key);
	cr_assert(json_is_integer(value), "%s of %s", list, key);
	return json_integer_value(value);
}

/* The game of lettered members: areas and stand-alone costs as the file says. */
static struct share_result *play(
    struct arena *arena, struct made *m, json_t *g, bool ceiling)
{
	static const char *const names[] = {"A", "B", "C"};
	json_t *use = json_object_get(g, "use_in_hundredths_of_a_roll");
	size_t n = json_object_size(use);
	area used[3];
	money alone[3];
	for (size_t i = 0; i < n; i++) {
		used[i] = json_integer_value(json_object_get(use, names[i]));
		alone[i] = at(g, "stand_alone", names[i]);
	}
	one_paper(
	    m, json_integer_value(json_object_get(g, "total")), n, used, alone);
	m->order.rules.ceiling = ceiling;
	return derive(arena, m);
}

Test(derive,
    shows_where_area_breaks_the_stand_alone_test_and_the_ceiling_mends_it)
{
	struct arena *arena = arena_new(1 << 20);
	struct made m;
	json_t *g = game("cost-rolls-second-roll");
	struct share_result *r = play(arena, &m, g, false);
	cr_expect_eq(r->members[0].share, at(g, "by_area", "A"));
	cr_expect_eq(r->members[1].share, at(g, "by_area", "B"));
	cr_expect_gt(r->members[0].share, at(g, "stand_alone", "A"));
	r = play(arena, &m, g, true);
	cr_expect_eq(r->members[0].share, at(g, "stand_alone", "A"));
	cr_expect_eq(r->members[1].share, at(g, "stand_alone", "B"));
	json_decref(g);
	arena_delete(arena);
}

/* The counterexample for groups: every member is below the ceiling, and two pairs are not. */
Test(derive, keeps_the_ceiling_for_members_and_not_for_groups)
{
	struct arena *arena = arena_new(1 << 20);
	struct made m;
	json_t *g = game("cost-rolls-three");
	struct share_result *r = play(arena, &m, g, true);
	static const char *const names[] = {"A", "B", "C"};
	for (size_t i = 0; i < 3; i++) {
		cr_expect_eq(r->members[i].share, at(g, "by_area", names[i]));
		cr_expect_leq(
		    r->members[i].share, at(g, "stand_alone", names[i]));
	}
	json_t *pairs = json_object_get(g, "coalitions");
	money ac = atoll(json_string_value(json_object_get(pairs, "AC"))),
	      bc = atoll(json_string_value(json_object_get(pairs, "BC")));
	cr_expect_gt(r->members[0].share + r->members[2].share, ac);
	cr_expect_gt(r->members[1].share + r->members[2].share, bc);
	json_decref(g);
	arena_delete(arena);
}

/* Water for six Swedish municipalities: by population and by demand some pay more than alone,
 * as published; the ceiling ends that.  Their published shares stand in for the weights. */
Test(derive, mends_the_published_shares_of_the_municipalities)
{
	json_t *g = game("cost-sweden-1979"), *rules, *players, *broken;
	const char *rule;
	struct arena *arena = arena_new(1 << 20);
	size_t tables = 0;
	players = json_object_get(g, "players");
	rules = json_object_get(g, "break_stand_alone");
	json_object_foreach(rules, rule, broken)
	{
		json_t *shares =
		    json_object_get(json_object_get(g, "shares"), rule);
		area used[6];
		money alone[6];
		struct made m;
		for (size_t i = 0; i < 6; i++) {
			used[i] = json_integer_value(json_array_get(shares, i));
			alone[i] = json_integer_value(json_array_get(
			    json_object_get(g, "stand_alone"), i));
		}
		one_paper(&m, json_integer_value(json_object_get(g, "total")),
		    6, used, alone);
		m.order.rules.ceiling = false;
		struct share_result *r = derive(arena, &m);
		size_t over = 0;
		for (size_t i = 0; i < 6; i++) {
			cr_expect(llabs(r->members[i].share - used[i]) <= 1,
			    "%s: the published share of %zu", rule, i);
			if (r->members[i].share <= alone[i])
				continue;
			cr_expect_str_eq(
			    json_string_value(json_array_get(players, i)),
			    json_string_value(json_array_get(broken, over)),
			    "%s", rule);
			over++;
		}
		cr_expect_eq(over, json_array_size(broken), "%s", rule);
		m.order.rules.ceiling = true;
		r = derive(arena, &m);
		cr_expect_eq(r->ceiling, CEILING_KEPT);
		cr_expect_eq(r->rounds > 0, over > 0, "%s", rule);
		for (size_t i = 0; i < 6; i++)
			cr_expect_leq(r->members[i].share, alone[i]);
		tables++;
	}
	cr_expect_eq(tables, 5);
	json_decref(g);
	arena_delete(arena);
}

/* Airport games share by nested needs, another rule: in each a split by need charges somebody
 * other than the published shares, and never more than alone once the ceiling is kept. */
Test(derive, is_not_the_rule_of_the_airport)
{
	static const char *const names[] = {"cost-airport-8-11-13-18",
	    "cost-airport-6-pilots", "cost-airport-3-airlines",
	    "cost-airport-3-airlines-longer"};
	struct arena *arena = arena_new(1 << 20);
	for (size_t k = 0; k < 4; k++) {
		json_t *g = game(names[k]),
		       *need = json_object_get(g, "stand_alone");
		size_t n = json_array_size(need);
		area used[6];
		money alone[6];
		struct made m;
		bool same = true;
		for (size_t i = 0; i < n; i++)
			used[i] = alone[i] =
			    json_integer_value(json_array_get(need, i));
		one_paper(&m, json_integer_value(json_object_get(g, "total")),
		    n, used, alone);
		struct share_result *r = derive(arena, &m);
		cr_expect_eq(r->ceiling, CEILING_KEPT);
		for (size_t i = 0; i < n; i++) {
			char share[24];
			snprintf(share, sizeof(share), "%lld",
			    (long long)r->members[i].share);
			same = same &&
			       strcmp(share,
				   json_string_value(json_array_get(
				       json_object_get(g, "shares"), i))) == 0;
			cr_expect_leq(r->members[i].share, alone[i]);
		}
		cr_expect_not(same, "%s", names[k]);
		json_decref(g);
	}
	arena_delete(arena);
}

/* ---- promises ---- */

#define ROUNDS 4000

static void check_steps(const struct share_result *r, uint64_t start)
{
	for (size_t i = 0; i < r->n_members; i++) {
		const struct share_due *due = &r->members[i];
		money base = 0;
		for (size_t k = 0; k < due->n_steps; k++) {
			const struct share_step *s = &due->steps[k];
			const struct share_pot *pot = &r->pots[s->pot];
			wide off = (wide)s->paid * pot->total -
				   (wide)pot->amount * s->own;
			cr_assert(off < pot->total && off > -pot->total,
			    "seed %llu: a unit off", (unsigned long long)start);
			cr_assert(
			    (wide)pot->amount * s->own ==
				(wide)s->whole * pot->total +
				    (pot->amount < 0 ? -s->rest : s->rest),
			    "seed %llu: whole and rest",
			    (unsigned long long)start);
			cr_assert_eq(s->paid - s->whole, !s->odd           ? 0
							 : pot->amount < 0 ? -1
									   : 1);
			base += s->paid;
		}
		cr_assert_eq(base, due->base);
		cr_assert_eq(due->share,
		    due->round ? due->alone : due->base + due->raised.paid);
	}
}

Test(derive, adds_up_and_stays_within_a_unit_and_below_the_ceiling)
{
	size_t capped = 0, too_low = 0, torn = 0;
	seed = 20;
	for (int round = 0; round < ROUNDS; round++) {
		struct arena *arena = arena_new(1 << 22);
		uint64_t start = seed;
		struct made m;
		pick_order(&m);
		struct share_result *r = derive(arena, &m);
		money sum = 0, cost = 0;
		for (size_t i = 0; i < m.order.n_lines; i++)
			cost += m.lines[i].amount;
		for (size_t i = 0; i < r->n_members; i++) {
			sum += r->members[i].share;
			if (r->ceiling == CEILING_KEPT &&
			    r->members[i].used > 0)
				cr_assert_leq(r->members[i].share,
				    r->members[i].alone, "seed %llu",
				    (unsigned long long)start);
			if (r->members[i].used == 0)
				cr_assert_eq(r->members[i].share, 0,
				    "seed %llu", (unsigned long long)start);
		}
		cr_assert_eq(sum + r->kept, cost, "seed %llu",
		    (unsigned long long)start);
		check_steps(r, start);
		capped += r->rounds > 0;
		too_low += r->ceiling == CEILING_TOO_LOW;
		torn += r->kept > 0;
		/* When the own plans together are no cheaper, a ceiling is always possible. */
		cr_assert(r->ceiling != CEILING_TOO_LOW ||
			      m.order.rules.policy == SHARE_TORN,
		    "seed %llu", (unsigned long long)start);
		arena_delete(arena);
	}
	cr_expect(capped > ROUNDS / 20 && too_low > 0 && torn > ROUNDS / 10,
	    "the cases show something: %zu, %zu, %zu", capped, too_low, torn);
}

static void shuffle_order(struct made *m)
{
	for (size_t i = m->order.n_members; i-- > 1;) {
		size_t k = (size_t)pick(0, (int64_t)i);
		struct share_member member = m->members[i];
		m->members[i] = m->members[k];
		m->members[k] = member;
	}
	for (size_t i = m->order.n_lines; i-- > 1;) {
		size_t k = (size_t)pick(0, (int64_t)i);
		struct share_line line = m->lines[i];
		m->lines[i] = m->lines[k];
		m->lines[k] = line;
	}
	/* the first and the last paper change places, in all that is told paper by paper */
	size_t last = m->order.n_papers - 1;
	struct share_of_paper paper = m->papers[0];
	m->papers[0] = m->papers[last];
	m->papers[last] = paper;
	for (size_t i = 0; i < m->order.n_members; i++) {
		area used = m->used[i][0];
		struct share_alone alone = m->alone[i][0];
		m->used[i][0] = m->used[i][last];
		m->used[i][last] = used;
		m->alone[i][0] = m->alone[i][last];
		m->alone[i][last] = alone;
	}
}

Test(derive, does_not_ask_in_which_order_things_come)
{
	seed = 21;
	for (int round = 0; round < ROUNDS; round++) {
		struct arena *arena = arena_new(1 << 22);
		uint64_t start = seed;
		struct made m;
		pick_order(&m);
		struct share_result *one = derive(arena, &m),
				    *same = derive(arena, &m);
		money share[MEMBERS_MOST * 3 + 2];
		for (size_t i = 0; i < one->n_members; i++) {
			share[one->members[i].member_id] =
			    one->members[i].share;
			cr_assert_eq(
			    one->members[i].share, same->members[i].share);
		}
		shuffle_order(&m);
		struct share_result *other = derive(arena, &m);
		for (size_t i = 0; i < other->n_members; i++)
			cr_assert_eq(other->members[i].share,
			    share[other->members[i].member_id], "seed %llu",
			    (unsigned long long)start);
		arena_delete(arena);
	}
}

/* Who asks for as much or more of every paper, and would pay as much or more alone, pays no
 * less; equals differ by the odd unit at most. */
Test(derive, is_monotone_and_symmetric)
{
	size_t equals = 0;
	seed = 22;
	for (int round = 0; round < ROUNDS; round++) {
		struct arena *arena = arena_new(1 << 22);
		uint64_t start = seed;
		struct made m;
		pick_order(&m);
		size_t twin = m.order.n_members / 2;
		memcpy(m.used[0], m.used[twin], sizeof(m.used[0]));
		for (size_t p = 0; p < m.order.n_papers; p++)
			m.used[0][p] += (m.used[twin][p] == 0);
		memcpy(m.used[twin], m.used[0], sizeof(m.used[0]));
		pick_alone(&m);
		memcpy(m.alone[twin], m.alone[0], sizeof(m.alone[0]));
		struct share_result *r = derive(arena, &m);
		money apart = r->members[0].share - r->members[twin].share;
		cr_assert(apart >= -1 && apart <= 1, "seed %llu: equals",
		    (unsigned long long)start);
		equals += twin > 0;
		for (size_t i = 0; i < r->n_members; i++)
			for (size_t j = 0; j < r->n_members; j++) {
				bool more = false, less = false;
				for (size_t p = 0; p < m.order.n_papers; p++) {
					more |= m.used[i][p] > m.used[j][p];
					less |= m.used[i][p] < m.used[j][p];
				}
				if (!more || less ||
				    (r->rounds > 0 && r->members[i].alone <
							  r->members[j].alone))
					continue;
				bool rising = true;
				for (size_t k = 0; k < r->n_pots; k++)
					rising &= r->pots[k].amount >= 0;
				cr_assert(!rising || r->members[i].share >=
							 r->members[j].share,
				    "seed %llu: %zu has more than %zu",
				    (unsigned long long)start, i, j);
			}
		arena_delete(arena);
	}
	cr_expect_gt(equals, ROUNDS / 2);
}

/* The ceiling as the rule is told, round by round in fractions of long double, against the
 * exact shares: within a few units. */
Test(derive, ceiling_is_the_one_of_rounds)
{
	seed = 23;
	for (int round = 0; round < ROUNDS / 4; round++) {
		struct arena *arena = arena_new(1 << 22);
		uint64_t start = seed;
		struct made m;
		pick_order(&m);
		m.order.rules.ceiling = true;
		struct share_result *r = derive(arena, &m);
		long double x[MEMBERS_MOST], a = 0, excess = 1;
		bool over[MEMBERS_MOST] = {false};
		for (size_t i = 0; i < r->n_members; i++)
			x[i] = r->members[i].base;
		for (size_t k = 0; k <= r->n_members && excess > 0; k++) {
			excess = a = 0;
			for (size_t i = 0; i < r->n_members; i++) {
				if (r->members[i].used == 0)
					continue;
				if (!over[i] && x[i] > r->members[i].alone) {
					excess += x[i] - r->members[i].alone;
					x[i] = r->members[i].alone;
					over[i] = true;
				}
				a += over[i] ? 0 : r->members[i].used;
			}
			for (size_t i = 0; i < r->n_members && a > 0; i++)
				if (!over[i])
					x[i] += excess * r->members[i].used / a;
		}
		for (size_t i = 0;
		     i < r->n_members && r->ceiling == CEILING_KEPT; i++) {
			long double off = x[i] - r->members[i].share;
			cr_assert(off < 1.01L && off > -1.01L,
			    "seed %llu: member %zu is off by %Lf",
			    (unsigned long long)start, i, off);
		}
		arena_delete(arena);
	}
}

Test(derive, is_written_and_read_back)
{
	seed = 24;
	for (int round = 0; round < 300; round++) {
		struct arena *arena = arena_new(1 << 24);
		struct made m;
		struct text one, two;
		struct share_result *back = NULL;
		struct err err = {0};
		pick_order(&m);
		if (pick(0, 3) == 0)
			m.members[0].alone = NULL;
		text_init(&one, 1 << 20);
		text_init(&two, 1 << 20);
		share_result_write(derive(arena, &m), &one);
		cr_assert(text_fits(&one));
		cr_assert(
		    share_result_read(one.data, one.len, arena, &back, &err),
		    "%s", err.text);
		share_result_write(back, &two);
		cr_assert_str_eq(one.data, two.data);
		/* cut anywhere, it is refused */
		cr_assert_not(share_result_read(one.data,
		    (size_t)pick(0, (int64_t)one.len - 3), arena, &back, &err));
		text_free(&one);
		text_free(&two);
		arena_delete(arena);
	}
}

/* ---- the door ---- */

Test(derive, holds_at_its_limits)
{
	struct arena *arena = arena_new(1 << 20);
	struct made m;
	one_paper(&m, SHARE_COST_MAX, 2, (area[]){INT64_MAX - 1, 1},
	    (money[]){SHARE_COST_MAX, SHARE_COST_MAX});
	struct share_result *r = derive(arena, &m);
	cr_expect_eq(r->members[0].share, SHARE_COST_MAX);
	cr_expect_eq(r->members[1].share, 0);
	m.papers[0].planned = 1; /* own plan x cost / planned would be 1e30 */
	r = derive(arena, &m);
	cr_expect_eq(r->members[0].alone, SHARE_COST_MAX);
	m.alone[0][0].price = 0;
	r = derive(arena, &m);
	cr_expect_eq(r->members[0].share, 0);
	cr_expect_eq(r->members[1].share, SHARE_COST_MAX);
	m.order.n_lines = 2;
	m.lines[0].amount = -SHARE_COST_MAX;
	m.lines[1] = (struct share_line){0, COST_OTHER, 0};
	r = derive(arena, &m);
	cr_expect_eq(r->members[0].share, -SHARE_COST_MAX);
	m.lines[1].amount = 1;
	refused(&m, "lines of cost together");
	arena_delete(arena);
}

Test(derive, refuses_what_makes_no_sense)
{
	struct made m;
	const area used[] = {1, 2};
	const money alone[] = {9, 9};
	one_paper(&m, 9, 2, used, alone);
	m.lines[0].paper_id = 8;
	refused(&m, "names paper 8");
	one_paper(&m, 9, 2, (area[]){0, 0}, alone);
	refused(&m, "no area");
	one_paper(&m, 9, 2, (area[]){-1, 5}, alone);
	refused(&m, "negative");
	one_paper(&m, 9, 2, (area[]){INT64_MAX, 1}, alone);
	refused(&m, "too large");
	one_paper(&m, 9, 2, used, alone);
	m.members[1].member_id = 1;
	refused(&m, "twice");
	one_paper(&m, 9, 2, used, alone);
	m.papers[0].kept = 1001;
	refused(&m, "more is kept");
	one_paper(&m, 9, 2, used, (money[]){-1, 9});
	refused(&m, "stand-alone plan");
	one_paper(&m, 9, 2, used, alone);
	m.order.n_papers = 2;
	m.papers[1] = (struct share_of_paper){5, 1, 1, 0};
	m.order.n_lines = 2;
	m.lines[1] = (struct share_line){5, COST_ROLLS, 3};
	refused(&m, "nothing was torn");
	m.order.n_members = SHARE_MEMBERS_MAX + 1;
	refused(&m, "too many");
}
