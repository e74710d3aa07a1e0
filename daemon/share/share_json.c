/* SPDX-License-Identifier: MIT */
/*
 * share_json.c - a result as JSON and back.
 *
 * What was charged is kept with its derivation, since papers, plans and settings may have
 * changed when somebody asks.  Written by hand, a member a line, so that the same result is
 * the same bytes.  Reading trusts nothing about shape; what it reads was written here, so
 * it says only that it cannot be read.
 */
#include "derive.h"

#include <inttypes.h>
#include <jansson.h>
#include <string.h>

static const char *const by_names[] = {"paper", "area", "each"};

/* ---- writing ---- */

static void write_lines(const struct share_result *r, struct text *out)
{
	text_add(out, "\"lines\": [");
	for (size_t i = 0; i < r->n_lines; i++)
		text_addf(out,
		    "%s{\"paper_id\": %" PRId64
		    ", \"kind\": \"%s\", \"amount_minor\": %" PRId64 "}",
		    i ? ", " : "", r->lines[i].paper_id,
		    cost_kind_name(r->lines[i].kind), r->lines[i].amount);
	text_add(out, "],\n\"papers\": [");
	for (size_t i = 0; i < r->n_papers; i++)
		text_addf(out,
		    "%s{\"paper_id\": %" PRId64 ", \"planned_minor\": %" PRId64
		    ", \"bought_uu\": %" PRId64 ", \"kept_uu\": %" PRId64
		    ", \"kept_minor\": %" PRId64 "}",
		    i ? ", " : "", r->papers[i].paper_id, r->papers[i].planned,
		    r->papers[i].bought, r->papers[i].kept, r->kept_values[i]);
	text_add(out, "],\n");
}

static void write_pots(const struct share_result *r, struct text *out)
{
	text_add(out, "\"pots\": [");
	for (size_t i = 0; i < r->n_pots; i++) {
		const struct share_pot *pot = &r->pots[i];

		text_addf(out,
		    "%s{\"by\": \"%s\", \"paper_id\": %" PRId64
		    ", \"lines\": [",
		    i ? ", " : "", by_names[pot->by], pot->paper_id);
		for (size_t k = 0; k < pot->n_lines; k++)
			text_addf(out, "%s%zu", k ? ", " : "", pot->lines[k]);
		text_addf(out,
		    "], \"cost_minor\": %" PRId64 ", \"kept_minor\": %" PRId64
		    ", \"amount_minor\": %" PRId64 ", \"total\": %" PRId64 "}",
		    pot->cost, pot->kept, pot->amount, pot->total);
	}
	text_add(out, "],\n");
}

static void write_step(const struct share_step *s, struct text *out)
{
	text_addf(out,
	    "{\"pot\": %zu, \"own\": %" PRId64 ", \"whole_minor\": %" PRId64
	    ", \"rest\": %" PRId64 ", \"odd\": %s, \"paid_minor\": %" PRId64
	    "}",
	    s->pot, s->own, s->whole, s->rest, s->odd ? "true" : "false",
	    s->paid);
}

static void write_alone(
    const struct share_result *r, const struct share_due *due, struct text *out)
{
	if (!due->has_alone) {
		text_add(out, "null");
		return;
	}
	text_addf(out,
	    "{\"common_minor\": %" PRId64 ", \"total_minor\": %" PRId64
	    ", \"papers\": [",
	    due->alone_common, due->alone);
	for (size_t p = 0; p < r->n_papers; p++)
		text_addf(out,
		    "%s{\"price_minor\": %" PRId64 ", \"kept_minor\": %" PRId64
		    "}",
		    p ? ", " : "", due->ceilings[p].price,
		    due->ceilings[p].kept);
	text_add(out, "]}");
}

static void write_member(
    const struct share_result *r, const struct share_due *due, struct text *out)
{
	text_addf(out,
	    "{\"member_id\": %" PRId64 ", \"used_uu\": %" PRId64
	    ", \"steps\": [",
	    due->member_id, due->used);
	for (size_t k = 0; k < due->n_steps; k++) {
		text_add(out, k ? ", " : "");
		write_step(&due->steps[k], out);
	}
	text_addf(
	    out, "], \"base_minor\": %" PRId64 ", \"alone\": ", due->base);
	write_alone(r, due, out);
	text_addf(out, ", \"round\": %u, \"raised\": ", due->round);
	write_step(&due->raised, out);
	text_addf(out, ", \"share_minor\": %" PRId64 "}", due->share);
}

void share_result_write(const struct share_result *r, struct text *out)
{
	text_addf(out,
	    "{\"policy\": \"%s\", \"ceiling\": %s, \"shipping_each\": %s,\n"
	    "\"cost_minor\": %" PRId64 ", \"kept_minor\": %" PRId64
	    ", \"ceiling_state\": \"%s\", \"rounds\": %u, \"excess_minor\": "
	    "%" PRId64 ", \"others_uu\": %" PRId64 ",\n",
	    share_policy_name(r->rules.policy),
	    r->rules.ceiling ? "true" : "false",
	    r->rules.shipping_each ? "true" : "false", r->cost, r->kept,
	    ceiling_state_name(r->ceiling), r->rounds, r->excess, r->others);
	write_lines(r, out);
	write_pots(r, out);
	text_add(out, "\"members\": [");
	for (size_t i = 0; i < r->n_members; i++) {
		text_add(out, i ? ",\n" : "\n");
		write_member(r, &r->members[i], out);
	}
	text_add(out, "]}\n");
}

/* ---- reading ---- */

struct reading {
	struct arena *arena;
	bool wrong;
};

static json_t *get(struct reading *rd, json_t *object, const char *name)
{
	json_t *value = json_object_get(object, name);

	rd->wrong = rd->wrong || value == NULL;
	return value;
}

static int64_t number(struct reading *rd, json_t *object, const char *name)
{
	json_t *value = get(rd, object, name);

	rd->wrong = rd->wrong || !json_is_integer(value);
	return json_integer_value(value);
}

static bool flag(struct reading *rd, json_t *object, const char *name)
{
	json_t *value = get(rd, object, name);

	rd->wrong = rd->wrong || !json_is_boolean(value);
	return json_is_true(value);
}

static const char *word(struct reading *rd, json_t *object, const char *name)
{
	const char *value = json_string_value(get(rd, object, name));

	rd->wrong = rd->wrong || value == NULL;
	return value ? value : "";
}

static json_t *list(
    struct reading *rd, json_t *object, const char *name, size_t *n)
{
	json_t *value = get(rd, object, name);

	rd->wrong = rd->wrong || !json_is_array(value);
	*n = json_array_size(value);
	return value;
}

static void read_lines(struct reading *rd, json_t *root, struct share_result *r)
{
	json_t *lines = list(rd, root, "lines", &r->n_lines);
	struct share_line *out =
	    arena_array(rd->arena, r->n_lines + 1, sizeof(*out));

	for (size_t i = 0; i < r->n_lines; i++) {
		json_t *line = json_array_get(lines, i);

		out[i].paper_id = number(rd, line, "paper_id");
		out[i].amount = number(rd, line, "amount_minor");
		rd->wrong =
		    !cost_kind_read(word(rd, line, "kind"), &out[i].kind) ||
		    rd->wrong;
	}
	r->lines = out;
}

static void read_papers(
    struct reading *rd, json_t *root, struct share_result *r)
{
	json_t *papers = list(rd, root, "papers", &r->n_papers);
	struct share_of_paper *out =
	    arena_array(rd->arena, r->n_papers + 1, sizeof(*out));
	money *values =
	    arena_array(rd->arena, r->n_papers + 1, sizeof(*values));

	for (size_t i = 0; i < r->n_papers; i++) {
		json_t *paper = json_array_get(papers, i);

		out[i] = (struct share_of_paper){
		    .paper_id = number(rd, paper, "paper_id"),
		    .planned = number(rd, paper, "planned_minor"),
		    .bought = number(rd, paper, "bought_uu"),
		    .kept = number(rd, paper, "kept_uu"),
		};
		values[i] = number(rd, paper, "kept_minor");
	}
	r->papers = out;
	r->kept_values = values;
}

static enum pot_by read_by(struct reading *rd, json_t *pot)
{
	const char *name = word(rd, pot, "by");

	for (unsigned i = 0; i < sizeof(by_names) / sizeof(*by_names); i++)
		if (strcmp(name, by_names[i]) == 0)
			return (enum pot_by)i;
	rd->wrong = true;
	return POT_BY_AREA;
}

static void read_pot(
    struct reading *rd, json_t *json, size_t n_lines, struct share_pot *pot)
{
	json_t *indices = list(rd, json, "lines", &pot->n_lines);
	size_t *lines =
	    arena_array(rd->arena, pot->n_lines + 1, sizeof(*lines));

	for (size_t i = 0; i < pot->n_lines; i++) {
		lines[i] =
		    (size_t)json_integer_value(json_array_get(indices, i));
		rd->wrong = rd->wrong || lines[i] >= n_lines;
	}
	pot->lines = lines;
	pot->by = read_by(rd, json);
	pot->paper_id = number(rd, json, "paper_id");
	pot->cost = number(rd, json, "cost_minor");
	pot->kept = number(rd, json, "kept_minor");
	pot->amount = number(rd, json, "amount_minor");
	pot->total = number(rd, json, "total");
	rd->wrong = rd->wrong || pot->total <= 0;
}

static struct share_step read_step(
    struct reading *rd, json_t *json, size_t n_pots)
{
	struct share_step step = {
	    .pot = (size_t)number(rd, json, "pot"),
	    .own = number(rd, json, "own"),
	    .whole = number(rd, json, "whole_minor"),
	    .rest = number(rd, json, "rest"),
	    .odd = flag(rd, json, "odd"),
	    .paid = number(rd, json, "paid_minor"),
	};

	rd->wrong = rd->wrong || step.pot > n_pots;
	return step;
}

static void read_alone(
    struct reading *rd, json_t *json, size_t n_papers, struct share_due *due)
{
	json_t *alone = get(rd, json, "alone"), *papers = NULL;
	struct share_ceiling *ceilings = NULL;
	size_t n = 0;

	if (json_is_null(alone))
		return;
	papers = list(rd, alone, "papers", &n);
	rd->wrong = rd->wrong || n != n_papers;
	ceilings = arena_array(rd->arena, n + 1, sizeof(*ceilings));
	for (size_t p = 0; p < n; p++) {
		json_t *paper = json_array_get(papers, p);

		ceilings[p].price = number(rd, paper, "price_minor");
		ceilings[p].kept = number(rd, paper, "kept_minor");
	}
	due->has_alone = true;
	due->ceilings = ceilings;
	due->alone_common = number(rd, alone, "common_minor");
	due->alone = number(rd, alone, "total_minor");
}

static void read_member(struct reading *rd, json_t *json,
    const struct share_result *r, struct share_due *due)
{
	json_t *steps = list(rd, json, "steps", &due->n_steps);
	struct share_step *out =
	    arena_array(rd->arena, due->n_steps + 1, sizeof(*out));

	for (size_t i = 0; i < due->n_steps; i++) {
		out[i] = read_step(rd, json_array_get(steps, i), r->n_pots);
		rd->wrong = rd->wrong || out[i].pot >= r->n_pots;
	}
	due->steps = out;
	due->member_id = number(rd, json, "member_id");
	due->used = number(rd, json, "used_uu");
	due->base = number(rd, json, "base_minor");
	read_alone(rd, json, r->n_papers, due);
	due->round = (unsigned)number(rd, json, "round");
	due->raised = read_step(rd, get(rd, json, "raised"), r->n_pots);
	due->share = number(rd, json, "share_minor");
}

static void read_head(struct reading *rd, json_t *root, struct share_result *r)
{
	const char *state = word(rd, root, "ceiling_state");

	rd->wrong =
	    !share_policy_read(word(rd, root, "policy"), &r->rules.policy) ||
	    rd->wrong;
	r->rules.ceiling = flag(rd, root, "ceiling");
	r->rules.shipping_each = flag(rd, root, "shipping_each");
	r->cost = number(rd, root, "cost_minor");
	r->kept = number(rd, root, "kept_minor");
	r->rounds = (unsigned)number(rd, root, "rounds");
	r->excess = number(rd, root, "excess_minor");
	r->others = number(rd, root, "others_uu");
	while (strcmp(state, ceiling_state_name(r->ceiling)) != 0) {
		if (r->ceiling == CEILING_TOO_LOW) {
			rd->wrong = true;
			return;
		}
		r->ceiling++;
	}
}

bool share_result_read(const char *json, size_t len, struct arena *arena,
    struct share_result **out, struct err *err)
{
	struct reading rd = {.arena = arena};
	struct share_result *r = arena_alloc(arena, sizeof(*r));
	json_t *root = json_loadb(json, len, JSON_REJECT_DUPLICATES, NULL);
	json_t *pots = NULL, *members = NULL;

	read_head(&rd, root, r);
	read_lines(&rd, root, r);
	read_papers(&rd, root, r);
	pots = list(&rd, root, "pots", &r->n_pots);
	r->pots = arena_array(arena, r->n_pots + 1, sizeof(*r->pots));
	for (size_t i = 0; i < r->n_pots; i++)
		read_pot(&rd, json_array_get(pots, i), r->n_lines, &r->pots[i]);
	members = list(&rd, root, "members", &r->n_members);
	r->members = arena_array(arena, r->n_members + 1, sizeof(*r->members));
	for (size_t i = 0; i < r->n_members; i++)
		read_member(&rd, json_array_get(members, i), r, &r->members[i]);
	json_decref(root);
	*out = r;
	return !rd.wrong || err_set(err, ERR_INPUT,
				"a stored derivation of shares cannot be read");
}
