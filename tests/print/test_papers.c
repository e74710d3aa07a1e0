/* SPDX-License-Identifier: MIT */
/*
 * Statements and accounts: the forms agree to the cent, hostile names stay in their lines, and
 * a payment's code appears only where it may.
 */
#include <criterion/criterion.h>
#include <stdio.h>

#include "csv.h"
#include "csv_out.h"
#include "paper_case.h"
#include "screen.h"

static char *text_of(struct folio *f)
{
	struct text out;

	text_init(&out, FOLIO_MAX);
	folio_text_form(f, &out);
	cr_assert(text_fits(&out));
	folio_delete(f);
	return text_take(&out);
}

static bool has_code(const struct folio *f)
{
	for (size_t i = 0; i < f->n_blocks; i++)
		if (f->blocks[i].kind == FOLIO_QR)
			return true;
	return false;
}

/* The rows of the derivation add up to the share, which the entries add up to before payments. */
Test(papers, the_derivation_ends_at_what_is_charged)
{
	for (int ceiling = 0; ceiling < 2; ceiling++) {
		struct paper_case c;
		paper_case_init(&c, ceiling, "en", "en");
		const struct share_due *due = statement_due(&c.statement);
		money parts = 0;
		cr_assert(due != NULL);
		for (size_t i = 0; i < due->n_steps; i++)
			parts += due->steps[i].paid;
		cr_expect_eq(parts, due->base);
		cr_expect_eq(
		    statement_balance(&c.statement), due->share - 5000);
		money all = 0;
		for (size_t i = 0; i < 3; i++)
			all += c.result->members[i].share;
		cr_expect_eq(all, c.result->cost);
		paper_case_free(&c);
	}
}

/* A roll at 162.00 that one tips a second of: TRADE's example, the ceiling told on paper. */
Test(papers, the_ceiling_is_told)
{
	struct paper_case c;
	area used[2] = {95, 10};
	struct share_alone alone[2] = {{16200, 100, 0}, {16200, 100, 0}};
	struct share_line line = {1, COST_ROLLS, 32400};
	struct share_of_paper paper = {1, 32400, 200, 0};
	struct share_member members[2] = {
	    {11, &used[0], &alone[0]}, {12, &used[1], &alone[1]}};

	paper_case_init(&c, true, "en", "en");
	cr_assert(share_derive(&(struct share_order){.workshop_id = 7,
				   .rules = {SHARE_ORDER, true, false},
				   .lines = &line,
				   .n_lines = 1,
				   .papers = &paper,
				   .n_papers = 1,
				   .members = members,
				   .n_members = 2},
	    c.arena, &c.result, NULL));
	c.statement.result = c.result;
	char *b = text_of(statement_folio(&c.statement));
	c.statement.member_id = 11;
	char *a = text_of(statement_folio(&c.statement));
	cr_expect(strstr(b, "Your part of what was taken off others: 131.14 "
			    "EUR") != NULL,
	    "%s", b);
	cr_expect(strstr(a, "-131.14 EUR  Nobody pays more than that") != NULL,
	    "%s", a);
	cr_expect(strstr(a, "162.00 EUR  Your share") != NULL);
	cr_expect(strstr(b, "162.00 EUR  Your share") != NULL);
	free(a);
	free(b);
	paper_case_free(&c);
}

Test(papers, a_code_is_shown_only_where_it_may)
{
	static const struct {
		const char *currency, *account, *name;
		bool paid, code;
	} rows[] = {
	    {"EUR", "DE89 3704 0044 0532 0130 00", "Studio", false, true},
	    {"EUR", "DE89 3704 0044 0532 0130 00", "Studio", true, false},
	    {"EUR", "DE89 3704 0044 0532 0130 00", "", false, false},
	    {"USD", "DE89 3704 0044 0532 0130 00", "Studio", false, false},
	    {"EUR", "DE98 3704 0044 0532 0130 00", "Studio", false, false},
	    {"EUR", "CH93 0076 2011 6238 5295 7", "Studio", false, false},
	    {"EUR", "cash, to Ash", "Studio", false, false},
	    {"EUR", "", "Studio", false, false},
	};

	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct paper_case c;
		paper_case_init(&c, true, "en", "en");
		case_statement(
		    &c, "en", "en", rows[i].currency, rows[i].account);
		c.statement.payee.name = rows[i].name;
		if (rows[i].paid)
			c.statement.n_entries = 0;
		struct folio *f = statement_folio(&c.statement);
		cr_expect_eq(has_code(f), rows[i].code, "row %zu", i);
		folio_delete(f);
		paper_case_free(&c);
	}
}

Test(papers, no_line_is_wider_than_the_screen)
{
	static const char *const currencies[] = {"USD", "JPY", "KWD", "EUR"};
	static const money factors[] = {1, 1000, 9999999};

	for (size_t k = 0; k < 12; k++) {
		struct paper_case c;
		struct entry_line own[8];
		paper_case_init(&c, true, k % 2 ? "de" : "en", "fr");
		case_statement(&c, k % 2 ? "de" : "en", k % 3 ? "fr" : "en-IN",
		    currencies[k % 4], "cash");
		memcpy(own, c.statement.entries,
		    c.statement.n_entries * sizeof(own[0]));
		for (size_t i = 0; i < c.statement.n_entries; i++)
			own[i].amount *= factors[k / 4];
		c.statement.entries = own;
		c.statement.member =
		    "\xE6\xB0\xB4\xE5\xBD\xA9\xE6\xB0\xB4\xE5\xBD\xA9 "
		    "\xF0\x9F\x8E\xA8 a-name-that-goes-on-and-on-and-on-and-on-"
		    "and-on-and-on-and-on-and-on-and-on-and-on-and-on";
		char *s = text_of(statement_folio(&c.statement));
		for (char *line = strtok(s, "\n"); line;
		     line = strtok(NULL, "\n"))
			cr_expect(screen_width(line) <= SCREEN_COLUMNS,
			    "%zu: %s", screen_width(line), line);
		free(s);
		paper_case_free(&c);
	}
}

/* Statement, account and CSV of one member agree to the cent. */
Test(papers, the_forms_agree)
{
	struct paper_case c;
	struct text out;
	money sum = 0, owed;
	char path[] = "/tmp/papers.XXXXXX", wanted[64];

	paper_case_init(&c, true, "en", "en");
	owed = statement_balance(&c.statement);
	text_init(&out, FOLIO_MAX);
	entries_csv(c.entries, c.n_entries, &out);
	int fd = mkstemp(path);
	FILE *file = fdopen(fd, "w");
	cr_assert(file != NULL);
	fwrite(out.data, 1, out.len, file);
	fclose(file);
	struct csv *csv = csv_open(path);
	remove(path);
	cr_assert(csv_next(csv));
	cr_assert_str_eq(csv_field(csv, 9), "amount_minor");
	while (csv_next(csv)) {
		cr_expect_eq(csv_width(csv), 20);
		if (atoll(csv_field(csv, 7)) == 12)
			sum += atoll(csv_field(csv, 9));
	}
	csv_close(csv);
	cr_expect_eq(sum, owed);
	cr_expect_eq(c.members[1].charged - c.members[1].paid, owed);
	snprintf(wanted, sizeof(wanted), "%lld.%02lld EUR",
	    (long long)(owed / 100), (long long)(owed % 100));
	char *statement = text_of(statement_folio(&c.statement));
	char *account = text_of(account_folio(&c.account));
	cr_expect(strstr(statement, wanted) != NULL, "%s", wanted);
	cr_expect(strstr(account, wanted) != NULL, "%s", wanted);
	free(statement);
	free(account);
	text_free(&out);
	paper_case_free(&c);
}

Test(papers, nobody_owes_and_nothing_is_planned)
{
	struct paper_case c;

	paper_case_init(&c, true, "en", "en");
	c.statement.result = NULL;
	c.statement.n_entries = 0;
	c.statement.n_sheets = 0;
	char *s = text_of(statement_folio(&c.statement));
	cr_expect(strstr(s, "nothing: nothing is charged") != NULL, "%s", s);
	cr_expect(strstr(s, "There is no share yet") != NULL, "%s", s);
	free(s);
	s = text_of(reminders_folio(&(struct reminders_input){
	    .studio = "Studio", .manner = {"EUR", "en", MEASURE_MM}}));
	cr_expect(strstr(s, "Nobody owes anything.") != NULL, "%s", s);
	free(s);
	paper_case_free(&c);
}

/* Quotients and areas: the products of the largest of both need 128 bits. */
Test(amount, is_exact_at_the_limits)
{
	struct arena *a = arena_new(1 << 20);
	struct manner eur = {"EUR", "en", MEASURE_MM},
		      yen = {"JPY", "en", MEASURE_INCH},
		      dinar = {"KWD", "de", MEASURE_CM};

	cr_expect_str_eq(amount_exact(a, &eur, 16200, 10, 21), "77.142857...");
	cr_expect_str_eq(amount_exact(a, &eur, 16200, 7, 21), "54.00");
	cr_expect_str_eq(
	    amount_exact(a, &eur, -16200, 10, 21), "-77.142857...");
	cr_expect_str_eq(amount_exact(a, &yen, 100, 1, 3), "33.3333...");
	cr_expect_str_eq(amount_exact(a, &yen, 100, 1, 4), "25");
	cr_expect_str_eq(amount_exact(a, &dinar, 1000, 1, 8), "0,125");
	cr_expect_str_eq(
	    amount_exact(a, &eur, SHARE_COST_MAX, INT64_MAX, INT64_MAX),
	    "10,000,000,000,000.00");
	cr_expect_str_eq(
	    amount_exact(a, &eur, SHARE_COST_MAX, INT64_MAX - 1, INT64_MAX),
	    "9,999,999,999,999.999998...");
	cr_expect_str_eq(amount_area(a, &yen, INCH * INCH), "1 sq in");
	cr_expect_str_eq(amount_area(a, &eur, 100 * MM * MM), "1 cm\xC2\xB2");
	cr_expect_str_eq(
	    amount_area(a, &yen, INCH / 16 * INCH / 16), "~0.003906 sq in");
	arena_delete(a);
}
