/* SPDX-License-Identifier: MIT */
/*
 * A case of tests/golden: a folder with case.json (who, where, which ruler) and a problem
 * and a plan for each paper, read into the input of a tear sheet.
 */
#ifndef TESTS_PRINT_CASE_H
#define TESTS_PRINT_CASE_H

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "plan.h"
#include "problem.h"
#include "sheet.h"

struct print_case {
	json_t *json;
	struct sheet_input input;
	struct sheet_paper *papers;
	struct sheet_member *members;
	struct problem **problems;
	struct plan **plans;
};

static inline char *case_file(const char *folder, const char *name, size_t *len)
{
	char path[4096], *data = NULL;
	size_t room = 0;
	snprintf(path, sizeof(path), "%s/%s", folder, name);
	FILE *f = fopen(path, "rb");
	if (!f)
		return NULL;
	*len = 0;
	do {
		room += 65536;
		data = xrealloc(data, room + 1, 1);
		*len += fread(data + *len, 1, room - *len, f);
	} while (*len == room);
	data[*len] = '\0';
	fclose(f);
	return data;
}

static inline const char *case_text(const json_t *json, const char *key)
{
	return json_string_value(json_object_get(json, key));
}

static inline length case_length(const json_t *json, const char *key)
{
	const char *s = case_text(json, key);
	struct err err = {0};
	length l = 0;
	if (s && !length_parse_or_zero(s, strlen(s), &l, &err)) {
		fprintf(stderr, "%s: %s\n", key, err.text);
		exit(2);
	}
	return l;
}

static inline void case_paper(
    struct print_case *c, const char *folder, size_t i)
{
	const json_t *json =
	    json_array_get(json_object_get(c->json, "papers"), i);
	struct sheet_paper *paper = &c->papers[i];
	struct err err = {0};
	size_t len;
	char *s = case_file(folder, case_text(json, "problem"), &len);
	if (!s || !problem_read(s, len, &c->problems[i], NULL, &err)) {
		fprintf(stderr, "%s: problem: %s\n", folder, err.text);
		exit(2);
	}
	free(s);
	s = case_file(folder, case_text(json, "plan"), &len);
	if (!s || !plan_read(s, len, &c->plans[i], &err)) {
		fprintf(stderr, "%s: plan: %s\n", folder, err.text);
		exit(2);
	}
	free(s);
	paper->name = case_text(json, "name");
	paper->grams = json_integer_value(json_object_get(json, "grams"));
	paper->problem = c->problems[i];
	paper->plan = c->plans[i];
	const json_t *owners = json_object_get(json, "owners");
	if (owners) {
		struct sheet_request *requests =
		    xcalloc(paper->problem->n_pieces + 1, sizeof(*requests));
		for (size_t k = 0; k < paper->problem->n_pieces; k++)
			requests[k].member = (size_t)json_integer_value(
			    json_array_get(owners, k));
		paper->requests = requests;
	}
	const json_t *stock = json_object_get(json, "stock");
	if (stock) {
		struct sheet_stock *names =
		    xcalloc(paper->problem->n_stock + 1, sizeof(*names));
		for (size_t k = 0; k < paper->problem->n_stock; k++) {
			names[k].label =
			    case_text(json_array_get(stock, k), "label");
			names[k].lot =
			    case_text(json_array_get(stock, k), "lot");
			names[k].place =
			    case_text(json_array_get(stock, k), "place");
		}
		paper->stock = names;
	}
}

static inline void case_members(struct print_case *c)
{
	const json_t *list = json_object_get(c->json, "members");
	c->input.n_members = json_array_size(list);
	c->members = xcalloc(c->input.n_members + 1, sizeof(*c->members));
	for (size_t i = 0; i < c->input.n_members; i++)
		c->members[i].name = json_string_value(json_array_get(list, i));
	c->input.members = c->members;
}

/* Ends the process with a message when the case cannot be read. */
static inline void case_read(struct print_case *c, const char *folder)
{
	json_error_t error;
	size_t len = 0;
	char *s = case_file(folder, "case.json", &len);

	memset(c, 0, sizeof(*c));
	c->json = s ? json_loadb(s, len, 0, &error) : NULL;
	free(s);
	if (!c->json) {
		fprintf(stderr, "%s/case.json cannot be read\n", folder);
		exit(2);
	}
	struct sheet_input *input = &c->input;
	input->studio = case_text(c->json, "studio");
	input->workshop = case_text(c->json, "workshop");
	input->number = json_integer_value(json_object_get(c->json, "number"));
	input->superseded =
	    json_is_true(json_object_get(c->json, "superseded"));
	input->closing = case_text(c->json, "closing");
	input->tear_on = case_text(c->json, "tear_on");
	input->flat_on = case_text(c->json, "flat_on");
	input->open_on = case_text(c->json, "open_on");
	input->flattening_days = (int)json_integer_value(
	    json_object_get(c->json, "flattening_days"));
	input->made = case_text(c->json, "made");
	input->side_up = case_text(c->json, "side_up");
	input->rules = case_text(c->json, "rules");
	input->language = case_text(c->json, "language");
	input->shelf_url = case_text(c->json, "shelf_url");
	const char *system = case_text(c->json, "system");
	input->system = !system || strcmp(system, "inch") == 0 ? MEASURE_INCH
			: strcmp(system, "mm") == 0            ? MEASURE_MM
							       : MEASURE_CM;
	input->step = case_length(c->json, "step");
	input->straightedge = case_length(c->json, "straightedge");
	input->table = case_length(c->json, "table");
	input->keep = case_length(c->json, "keep");
	const char *page = case_text(c->json, "page");
	input->page =
	    page && strcmp(page, "letter") == 0 ? SHEET_LETTER : SHEET_A4;
	input->large = json_is_true(json_object_get(c->json, "large"));
	case_members(c);
	input->n_papers = json_array_size(json_object_get(c->json, "papers"));
	c->papers = xcalloc(input->n_papers + 1, sizeof(*c->papers));
	c->problems = xcalloc(input->n_papers + 1, sizeof(struct problem *));
	c->plans = xcalloc(input->n_papers + 1, sizeof(struct plan *));
	for (size_t i = 0; i < input->n_papers; i++)
		case_paper(c, folder, i);
	input->papers = c->papers;
}

static inline void case_free(struct print_case *c)
{
	for (size_t i = 0; i < c->input.n_papers; i++) {
		free((void *)c->papers[i].requests);
		free((void *)c->papers[i].stock);
		problem_delete(c->problems[i]);
		plan_delete(c->plans[i]);
	}
	free(c->papers);
	free(c->problems);
	free(c->plans);
	free(c->members);
	json_decref(c->json);
}

#endif
