/* SPDX-License-Identifier: MIT */
/*
 * The words of a payment's QR code against the published sample of the guideline EPC069-12
 * (tests/data/payments/epc069-12.txt: its sample code, as it is decoded and told in public), and every
 * limit that its table of fields sets (version 2.1, section 2).
 */
#include "epc.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct epc plain = {.name = "Studio on the Quay",
    .iban = "DE89 3704 0044 0532 0130 00",
    .amount = 2341,
    .reference = "RF18 5390 0754 7034"};

static bool written(const struct epc *p, char out[static 1024], struct err *err)
{
	struct text t;

	text_init(&t, 1023);
	bool ok = epc_write(p, &t, err);
	snprintf(out, 1024, "%s", t.data);
	text_free(&t);
	return ok;
}

Test(epc, is_the_sample_of_the_guideline)
{
	struct epc sample = {.bic = "BPOTBEB1",
	    .name = "Red Cross of Belgium",
	    .iban = "BE72 0000 0000 1616",
	    .amount = 100,
	    .purpose = "CHAR",
	    .text = "Urgency fund",
	    .hint = "Sample EPC QR code"};
	char published[1024] = "", out[1024];
	FILE *f = fopen(DATA_DIR "/payments/epc069-12.txt", "r");
	struct err err = {0};

	cr_assert(f != NULL);
	size_t n = fread(published, 1, sizeof(published) - 1, f);
	fclose(f);
	cr_assert(n > 0 && published[n - 1] == '\n');
	published[n - 1] = '\0'; /* of the file, not of the code */
	cr_assert(written(&sample, out, &err), "%s", err.text);
	cr_expect_str_eq(out, published);
}

Test(epc, ends_with_its_last_filled_line)
{
	char out[1024];
	struct err err = {0};
	struct epc bare = plain;

	cr_assert(written(&plain, out, &err), "%s", err.text);
	cr_expect_str_eq(out, "BCD\n002\n1\nSCT\n\nStudio on the Quay\n"
			      "DE89370400440532013000\nEUR23.41\n\n"
			      "RF18539007547034");
	bare.reference = NULL;
	cr_assert(written(&bare, out, &err), "%s", err.text);
	cr_expect_str_eq(out, "BCD\n002\n1\nSCT\n\nStudio on the Quay\n"
			      "DE89370400440532013000\nEUR23.41");
}

#define SEVENTY                                                                \
	"12345678901234567890123456789012345678901234567890123456789012345678" \
	"90"

#define TEN_WIDE "\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9"
#define SEVENTY_WIDE                                                           \
	TEN_WIDE TEN_WIDE TEN_WIDE TEN_WIDE TEN_WIDE TEN_WIDE TEN_WIDE

Test(epc, keeps_every_limit)
{
	static const struct {
		const char *what;
		struct epc p;
		bool ok;
	} rows[] = {
	    {"a name of 70", {.name = SEVENTY, .amount = 1}, true},
	    {"a name of 71", {.name = SEVENTY "1", .amount = 1}, false},
	    {"no name", {.name = " ", .amount = 1}, false},
	    {"two lines", {.name = "a\nb", .amount = 1}, false},
	    {"no amount", {.amount = 0}, false},
	    {"less than nothing", {.amount = -1}, false},
	    {"one cent", {.amount = 1}, true},
	    {"999999999.99", {.amount = 99999999999}, true},
	    {"one cent more", {.amount = 100000000000}, false},
	    {"purpose", {.amount = 1, .purpose = "CHAR"}, true},
	    {"long purpose", {.amount = 1, .purpose = "CHARX"}, false},
	    {"text of 140", {.amount = 1, .text = SEVENTY SEVENTY}, true},
	    {"text of 141", {.amount = 1, .text = SEVENTY SEVENTY "1"}, false},
	    {"hint of 70", {.amount = 1, .hint = SEVENTY}, true},
	    {"hint of 71", {.amount = 1, .hint = SEVENTY "1"}, false},
	    {"reference and text",
		{.amount = 1, .reference = "RF18539007547034", .text = "a"},
		false},
	    {"wrong reference", {.amount = 1, .reference = "RF19539007547034"},
		false},
	    {"wrong account", {.amount = 1, .iban = "DE98370400440532013000"},
		false},
	    {"outside the area, without a BIC",
		{.amount = 1, .iban = "CH93 0076 2011 6238 5295 7"}, false},
	    {"outside the area, with a BIC",
		{.amount = 1,
		    .iban = "CH93 0076 2011 6238 5295 7",
		    .bic = "BPOTBEB1"},
		true},
	    {"a wrong BIC", {.amount = 1, .bic = "BPOT"}, false},
	    {"signs count, not bytes", {.name = SEVENTY_WIDE, .amount = 1},
		true},
	    {"more than 331 bytes",
		{.amount = 1,
		    .name = SEVENTY_WIDE,
		    .text = SEVENTY SEVENTY,
		    .hint = SEVENTY},
		false},
	};

	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct epc p = rows[i].p;
		struct err err = {0};
		char out[1024];
		p.name = p.name ? p.name : plain.name;
		p.iban = p.iban ? p.iban : plain.iban;
		bool ok = written(&p, out, &err);
		cr_expect_eq(ok, rows[i].ok, "%s: %s", rows[i].what, err.text);
		cr_expect(!ok || strlen(out) <= EPC_MAX, "%s", rows[i].what);
	}
}
