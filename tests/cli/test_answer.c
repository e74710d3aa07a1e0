/* SPDX-License-Identifier: MIT */
/*
 * What the server says, told to a person: problems (RFC 9457), answers that are none of
 * ours, and connections that break.  Exit statuses are those of docs/tearshare.1.
 */
#include <criterion/criterion.h>
#include <curl/curl.h>
#include <string.h>

#include "alloc.h"
#include "cli_answer.h"
#include "client.h"
#include "status.h"

static struct answer make(long status, const char *type, const char *body)
{
	struct answer a = {.status = status, .retry_after = -1};
	snprintf(a.type, sizeof(a.type), "%s", type);
	a.body = xstrdup(body);
	a.len = strlen(body);
	return a;
}

#define PROBLEM "application/problem+json"

static const struct {
	const char *name;
	long status;
	const char *type, *body;
	int exit;
	const char *text, *hint;
} refusals[] = {
    {"detail and hint are the server's own", 422, PROBLEM,
	"{\"type\":\"/problems/"
	"input\",\"title\":\"t\",\"status\":422,\"detail\":\"count 0 is too "
	"small\",\"hint\":\"Ask for 1 to 500 sheets.\",\"later\":[1]}",
	65, "count 0 is too small", "Ask for 1 to 500 sheets."},
    {"several errors are all told", 422, PROBLEM,
	"{\"detail\":\"two values are "
	"wrong\",\"errors\":[{\"pointer\":\"/count\",\"detail\":\"count "
	"0 is too small\"},{\"pointer\":\"/across\",\"detail\":\"it is "
	"zero\"}]}",
	65, "/across: it is zero", ""},
    {"a bad key", 401, PROBLEM, "{\"detail\":\"the key is not known\"}", 77,
	"the key is not known", "tearshare signin"},
    {"a right that is missing", 403, PROBLEM, "{}", 77, "your role", "whoami"},
    {"nothing there", 404, PROBLEM, "{\"detail\":\"there is no request 9\"}",
	66, "there is no request 9", ""},
    {"not in the right state", 409, PROBLEM,
	"{\"detail\":\"workshop 1 is closed\",\"hint\":\"Reopen it first.\"}",
	73, "workshop 1 is closed", "Reopen it first."},
    {"an older version", 412, PROBLEM, "{}", 73, "changed it", "again"},
    {"too often", 429, PROBLEM, "{}", 75, "slow down", ""},
    {"a fault of the server shows its number and not its text", 500, PROBLEM,
	"{\"detail\":\"a fault of ours\",\"request_id\":\"7f3a\"}", 70,
	"a fault of ours", "7f3a"},
    {"busy", 503, PROBLEM, "{\"detail\":\"no database\"}", 75, "no database",
	"moment"},
    {"a page of something else", 404, "text/html", "<h1>Not here</h1>", 66,
	"(status 404)", ""},
    {"a status nobody knows", 418, "text/plain", "tea", 76, "does not know",
	"address"},
    {"a redirect", 301, "text/html", "", 76, "elsewhere", "own address"},
    {"a problem that is no object", 422, PROBLEM, "[1]", 65, "(status 422)",
	""},
    {"a problem that is no JSON", 422, PROBLEM, "{", 65, "(status 422)", ""},
    {"members of other types are passed over", 422, PROBLEM,
	"{\"detail\":7,\"hint\":[],\"errors\":{\"a\":1}}", 65,
	"a value was refused", ""},
    {"what could steer a terminal does not", 422, PROBLEM,
	"{\"detail\":\"a\\u001b[2Jb\\u202ec\\u0085d\",\"hint\":\"\\u0007e\"}",
	65, "a?[2Jb?c?d", "?e"},
};

Test(answer, that_refuses_is_told_with_what_and_what_to_do)
{
	for (size_t i = 0; i < sizeof(refusals) / sizeof(*refusals); i++) {
		struct err err = {.kind = ERR_NONE};
		struct answer a = make(
		    refusals[i].status, refusals[i].type, refusals[i].body);
		cr_expect_not(answer_judge(&a, &err), "%s", refusals[i].name);
		cr_expect_eq(status_exit(&err), refusals[i].exit, "%s: %d",
		    refusals[i].name, status_exit(&err));
		cr_expect(strstr(err.text, refusals[i].text), "%s: %s",
		    refusals[i].name, err.text);
		cr_expect(strstr(err.hint, refusals[i].hint), "%s: %s",
		    refusals[i].name, err.hint);
		answer_free(&a);
	}
}

Test(answer, that_is_good_is_read)
{
	struct err err;
	struct answer a =
	    make(200, "application/json", "{\"id\": 7, \"new\": null}");
	cr_assert(answer_judge(&a, &err));
	cr_expect_eq(json_integer_value(json_object_get(a.json, "id")), 7);
	answer_free(&a);
	a = make(204, "", "");
	cr_assert(answer_judge(&a, &err));
	cr_expect_null(a.json);
	answer_free(&a);
}

Test(answer, that_is_cut_or_not_json_is_not_believed)
{
	static const char *const bodies[] = {
	    "{\"id\": 7", "<html>", "{\"id\": 99999999999999999999}", "\xff"};
	for (size_t i = 0; i < sizeof(bodies) / sizeof(*bodies); i++) {
		struct err err;
		struct answer a = make(200, "application/json", bodies[i]);
		cr_expect_not(answer_judge(&a, &err), "%s", bodies[i]);
		cr_expect_eq(status_exit(&err), 76);
		answer_free(&a);
	}
}

Test(answer, headers_are_read_whatever_their_case_and_blanks)
{
	struct answer a = {.retry_after = -1};
	static const char *const lines[] = {"eTaG:   \"12\"  \r\n",
	    "Content-Type: application/json; charset=utf-8\r\n",
	    "RETRY-AFTER:7\r\n", "X-Other: 1\r\n", "etagx: no\r\n", "\r\n", ""};
	for (size_t i = 0; i < sizeof(lines) / sizeof(*lines); i++)
		answer_add_header(&a, lines[i], strlen(lines[i]));
	cr_expect_str_eq(a.etag, "\"12\"");
	cr_expect_str_eq(a.type, "application/json");
	cr_expect_eq(a.retry_after, 7);
}

Test(answer, headers_that_are_too_long_or_no_number_are_left_out)
{
	struct answer a = {.retry_after = -1};
	char line[300] = "ETag: ";
	memset(line + 6, 'e', 200);
	answer_add_header(&a, line, 206);
	cr_expect_str_eq(a.etag, "");
	answer_add_header(&a, "Retry-After: Wed, 25 Nov", 24);
	answer_add_header(&a, "Retry-After: 99999999999999999999", 33);
	cr_expect_eq(a.retry_after, -1);
}

Test(answer, says_when_asking_again_may_help)
{
	static const struct {
		long status, retry_after;
		bool later;
	} rows[] = {{503, -1, true}, {429, 3, true}, {409, 1, true},
	    {409, -1, false}, {422, -1, false}, {500, -1, false},
	    {200, -1, false}, {502, -1, true}};
	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
		struct answer a = {.status = rows[i].status,
		    .retry_after = rows[i].retry_after};
		cr_expect_eq(answer_says_later(&a), rows[i].later, "%ld",
		    rows[i].status);
	}
}

/* Each way a connection can break has its own sentence. */
static const struct {
	const char *name;
	int code;
	long verify;
	const char *ca, *method;
	bool sent;
	int exit;
	const char *text, *hint;
} breaks[] = {
    {"nobody there", CURLE_COULDNT_CONNECT, 0, NULL, "GET", false, 69,
	"not there", "running"},
    {"no such name", CURLE_COULDNT_RESOLVE_HOST, 0, NULL, "GET", false, 69,
	"not there", "address"},
    {"unknown authority", CURLE_PEER_FAILED_VERIFICATION, 19, NULL, "GET", true,
	76, "not trusted", "--ca FILE"},
    {"another authority than the one given", CURLE_PEER_FAILED_VERIFICATION, 20,
	"/x/ca.pem", "GET", true, 76, "not trusted", "/x/ca.pem"},
    {"another name", CURLE_PEER_FAILED_VERIFICATION, 1, NULL, "GET", true, 76,
	"for another name", "name"},
    {"not valid yet", CURLE_PEER_FAILED_VERIFICATION, 9, NULL, "GET", true, 76,
	"not valid yet", "If the clock is wrong, set it"},
    {"expired", CURLE_PEER_FAILED_VERIFICATION, 10, NULL, "GET", true, 76,
	"has expired", "If the clock is wrong, set it"},
    {"certificate file missing", CURLE_SSL_CACERT_BADFILE, 0, "/x/ca.pem",
	"GET", false, 78, "/x/ca.pem", "--ca FILE"},
    {"plain answer on a TLS port", CURLE_SSL_CONNECT_ERROR, 0, NULL, "GET",
	true, 76, "does not speak", "https"},
    {"broken while asking", CURLE_RECV_ERROR, 0, NULL, "GET", true, 75, "broke",
	"Try again"},
    {"broken while doing", CURLE_RECV_ERROR, 0, NULL, "POST", true, 75, "broke",
	"Whether it was done is not known"},
    {"too large", CURLE_WRITE_ERROR, 0, NULL, "GET", true, 76, "larger", ""},
};

Test(answer, that_never_came_is_told_with_its_cause)
{
	for (size_t i = 0; i < sizeof(breaks) / sizeof(*breaks); i++) {
		struct err err = {.kind = ERR_NONE};
		struct wire_failure f = {.code = breaks[i].code,
		    .verify = breaks[i].verify,
		    .server = "https://studio.example:8443",
		    .ca = breaks[i].ca,
		    .detail = breaks[i].verify == 1 ? "no subject name matches"
						    : "a reason",
		    .method = breaks[i].method,
		    .sent = breaks[i].sent};
		cr_expect_not(client_explain(&f, &err), "%s", breaks[i].name);
		cr_expect_eq(
		    status_exit(&err), breaks[i].exit, "%s", breaks[i].name);
		cr_expect(strstr(err.text, breaks[i].text), "%s: %s",
		    breaks[i].name, err.text);
		cr_expect(strstr(err.hint, breaks[i].hint), "%s: %s",
		    breaks[i].name, err.hint);
	}
}
