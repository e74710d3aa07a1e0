/* SPDX-License-Identifier: MIT */
/*
 * The books of a studio that is at it for long: 500 workshops, more than 100,000 entries.
 *
 * What a statement and an account ask is asked of them, and PostgreSQL itself tells (auto_explain)
 * how it has found the answer: by an index, never by reading a table of money from end to end.
 * Plans are generic, as they become once a connection has asked a while.  Then an index is
 * taken away, and the same look sees it.
 */
#include <string.h>

#include "alloc.h"
#include "cluster_files.h"
#include "invoice.h"
#include "scene.h"
#include "text.h"

static char *log_path(const struct desk *desk)
{
	char *data = folder_join(desk->folder, "db");
	char *path = folder_join(data, "postgres.log");
	free(data);
	return path;
}

static long log_end(const struct desk *desk)
{
	char *path = log_path(desk);
	FILE *file = fopen(path, "r");
	CHECK(file != NULL);
	CHECK(fseek(file, 0, SEEK_END) == 0);
	long end = ftell(file);
	fclose(file);
	free(path);
	return end;
}

/* The log from a place on; yours to free. */
static char *log_since(const struct desk *desk, long from)
{
	char *path = log_path(desk);
	FILE *file = fopen(path, "r");
	char *text = xcalloc(1, 4 << 20);
	CHECK(file != NULL && fseek(file, from, SEEK_SET) == 0);
	size_t n = fread(text, 1, (4 << 20) - 1, file);
	text[n] = '\0';
	fclose(file);
	free(path);
	return text;
}

static void sql(struct desk *desk, const char *text)
{
	char *why = NULL;
	free(desk_sql(desk, "postgres", text, &why));
	if (why)
		printf("%s\n", why);
	CHECK(why == NULL);
	free(why);
}

/* Without the triggers: they are looked at elsewhere, and here only the size matters.  @ stands
 * for the studio, # for its owner. */
static const char fill_sql[] =
    "SET search_path = tearshare, pg_temp;"
    "INSERT INTO member (studio_id, name) SELECT @, 'member ' || "
    "i "
    "FROM generate_series(1, 400) i;"
    "SET session_replication_role = replica;"
    "CREATE TEMPORARY TABLE who AS SELECT member_id, row_number() OVER "
    "(ORDER BY member_id) AS n FROM member WHERE studio_id = @;"
    "CREATE TEMPORARY TABLE w AS SELECT 100000 + i AS id, i FROM "
    "generate_series(1, 500) i;"
    "INSERT INTO workshop (studio_id, workshop_id, name, closes_at, "
    "starts_on) OVERRIDING SYSTEM VALUE SELECT @, id, 'w' || i, "
    "now(), '2026-01-01' FROM w;"
    "CREATE TEMPORARY TABLE part AS SELECT w.id, w.i, o.member_id, o.n "
    "FROM w JOIN who o ON (o.n + w.i) % 4 = 0;"
    "INSERT INTO enrolment SELECT @, id, member_id FROM part;"
    "INSERT INTO settlement (studio_id, settlement_id, workshop_id, "
    "plan_id, number, currency, invoice_minor, charged_minor, parts, "
    "created_by) OVERRIDING SYSTEM VALUE SELECT @, id, id, 1, 1, "
    "'EUR', 100, 100, '[]', # FROM w;"
    "INSERT INTO share SELECT @, id, member_id, 1 FROM part;"
    "INSERT INTO invoice (studio_id, invoice_id, workshop_id, "
    "currency, "
    "total_minor, lines, created_by) OVERRIDING SYSTEM VALUE SELECT "
    "@, id * 10 + k, id, 'EUR', 100, 1, # FROM w, "
    "generate_series(1, 4) k;"
    "INSERT INTO invoice_line (studio_id, invoice_id, line, kind, "
    "amount_minor) SELECT @, id * 10 + k, 1, 'other', 100 FROM w, "
    "generate_series(1, 4) k;"
    "INSERT INTO settlement_invoice SELECT @, id, id * 10 + 1 "
    "FROM "
    "w;"
    "INSERT INTO booking (studio_id, booking_id, kind, workshop_id, "
    "settlement_id, legs, created_by) OVERRIDING SYSTEM VALUE SELECT "
    "@, id, 'charge', id, id, 101, # FROM w;"
    "INSERT INTO booking (studio_id, booking_id, kind, workshop_id, "
    "bank_reference, legs, created_by) OVERRIDING SYSTEM VALUE SELECT "
    "@, id * 1000 + n, 'payment', id, 'line ' || id * 1000 + n, "
    "2, "
    "# FROM part;"
    "INSERT INTO ledger_entry (studio_id, booking_id, account_id, "
    "account_kind, workshop_id, member_id, currency, amount_minor) "
    "SELECT @, b.id, a.account_id, 'member', p.id, p.member_id, "
    "'EUR', b.amount FROM part p JOIN account a ON a.studio_id = "
    "@ "
    "AND a.kind = 'member' AND a.member_id = p.member_id CROSS JOIN "
    "LATERAL (VALUES (p.id, 1), (p.id * 1000 + p.n, -1)) b (id, "
    "amount);"
    "INSERT INTO ledger_entry (studio_id, booking_id, account_id, "
    "account_kind, workshop_id, currency, amount_minor) SELECT @, "
    "p.id * 1000 + p.n, a.account_id, 'payee', p.id, 'EUR', 1 FROM "
    "part "
    "p JOIN account a ON a.studio_id = @ AND a.kind = 'payee' AND "
    "a.member_id IS NULL;"
    "ANALYZE;";

static void fill(struct desk *desk, const struct scene *s)
{
	struct text text;
	text_init(&text, 100000);
	for (const char *at = fill_sql; *at; at++) {
		if (*at == '@')
			text_addf(&text, "%lld", (long long)s->studio);
		else if (*at == '#')
			text_addf(&text, "%lld", (long long)s->owner);
		else
			text_add_char(&text, *at);
	}
	sql(desk, text.data);
	text_free(&text);
	char *n = desk_sql(desk, "postgres",
	    "SELECT count(*) > 100000 FROM tearshare.ledger_entry", NULL);
	CHECK_TEXT(n, "t");
	free(n);
}

static void tell_plans(struct desk *desk)
{
	sql(desk,
	    "ALTER ROLE tearshare_daemon SET session_preload_libraries = "
	    "'auto_explain';"
	    "ALTER ROLE tearshare_daemon SET auto_explain.log_min_duration = 0;"
	    "ALTER ROLE tearshare_daemon SET plan_cache_mode = "
	    "'force_generic_plan'");
	struct store_config config = desk->config;
	config.connections = 1;
	desk_reopen(desk, &config);
}

/* Tables of money that a plan in this text reads from end to end. */
static size_t read_whole(const char *text, const char *asked, bool tell)
{
	static const char *const tables[] = {"ledger_entry", "booking",
	    "settlement", "settlement_invoice", "share", "invoice",
	    "invoice_line"};
	size_t found = 0;
	for (size_t i = 0; i < sizeof(tables) / sizeof(tables[0]); i++) {
		char scan[80], alias[80];
		snprintf(scan, sizeof(scan), "Seq Scan on %s ", tables[i]);
		snprintf(alias, sizeof(alias), "Seq Scan on %s\n", tables[i]);
		if (!strstr(text, scan) && !strstr(text, alias))
			continue;
		found++;
		if (tell)
			printf("%s reads all of %s:\n%s\n", asked, tables[i],
			    text);
	}
	return found;
}

enum { WORKSHOP = 100250 };

/* One question of what statements and accounts are made of, by number; false after the last. */
static bool ask_one(struct desk *desk, struct store_tx *tx, int i,
    const struct scene *s, int64_t member, struct reply *r)
{
	const struct page page = {0, 100};
	int64_t st = s->studio, w = WORKSHOP;
	switch (i) {
	case 0:
		store_entries(tx, st, w, 0, -1, page, desk_reply, r);
		break;
	case 1:
		store_entries(tx, st, 0, member, -1, page, desk_reply, r);
		break;
	case 2:
		store_entries(tx, st, w, member, -1, page, desk_reply, r);
		break;
	case 3:
		store_balances(tx, st, w, 0, desk_reply, r);
		break;
	case 4:
		store_balances(tx, st, w, member, desk_reply, r);
		break;
	case 5:
		store_totals(tx, st, w, desk_reply, r);
		break;
	case 6:
		store_settlements(tx, st, w, desk_reply, r);
		break;
	case 7:
		store_shares(tx, st, w, desk_reply, r);
		break;
	case 8:
		store_invoices(tx, st, w, true, desk_reply, r);
		break;
	case 9:
		store_invoice_lines(tx, st, w, 0, desk_reply, r);
		break;
	case 10:
		store_bank_line(tx, st, "line 100250002", desk_reply, r);
		break;
	case 11:
		store_entries(tx, st, 0, 0, -1, page, desk_reply, r);
		break;
	default:
		return false;
	}
	return desk_wait(desk, r);
}

static int64_t some_member(struct desk *desk)
{
	char *text = desk_sql(desk, "postgres",
	    "SELECT min(member_id) FROM tearshare.enrolment WHERE workshop_id "
	    "= "
	    "100250",
	    NULL);
	int64_t id = strtoll(text, NULL, 10);
	free(text);
	return id;
}

/* A plan is told when its transaction is over: the connection's next answer comes after that. */
static void wait_for_log(struct desk *desk, const struct scene *s)
{
	struct store_tx *tx = desk_begin_read(desk);
	struct reply r = {0};
	ASK(desk, r, store_studio(tx, s->studio, desk_reply, &r));
	store_rollback(tx);
}

/* How many tables were read from end to end, over all questions. */
static size_t look(
    struct desk *desk, const struct scene *s, int64_t member, bool tell)
{
	size_t found = 0;
	int n = 0;
	for (;; n++) {
		char asked[40];
		long from = log_end(desk);
		struct store_tx *tx = desk_begin_read(desk);
		struct reply r = {0};
		bool ok = ask_one(desk, tx, n, s, member, &r);
		store_rollback(tx);
		if (!ok)
			break;
		wait_for_log(desk, s);
		CHECK(r.n > 0);
		char *text = log_since(desk, from);
		snprintf(asked, sizeof(asked), "question %d", n);
		CHECK(strstr(text, "Query Text") != NULL); /* it was told */
		found += read_whole(text, asked, tell);
		free(text);
	}
	CHECK_INT(n, 12);
	return found;
}

static void statements_and_accounts_use_indexes(struct desk *desk)
{
	struct scene s = new_scene(desk);
	fill(desk, &s);
	int64_t member = some_member(desk);
	tell_plans(desk);
	CHECK_INT(look(desk, &s, member, true), 0);
	sql(desk, "DROP INDEX tearshare.ledger_entry_by_member_in_workshop, "
		  "tearshare.ledger_entry_by_workshop, "
		  "tearshare.ledger_entry_by_booking");
	CHECK(look(desk, &s, member, false) > 0);
}

int main(int argc, char **argv)
{
	static const struct test tests[] = {
	    T(statements_and_accounts_use_indexes),
	};
	return desk_run(tests, sizeof(tests) / sizeof(tests[0]), argc, argv);
}
