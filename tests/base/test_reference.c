/* SPDX-License-Identifier: MIT */
/*
 * References of payments and account numbers, against the published examples of their
 * standards.
 *
 * ISO 11649: RF18 5390 0754 7034 is the standard's own example, told in every bank's guide
 * to it; the others are from test sets of public programs that check such references.
 * ISO 13616: tests/data/payments/iban.csv, the registry's example of each country.
 */
#include "reference.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "csv.h"
#include "iban.h"

Test(reference, has_the_check_digits_of_the_standard)
{
	static const struct {
		const char *body, *whole;
	} rows[] = {
	    {"539007547034", "RF18539007547034"},
	    {"000000000539007547034", "RF18000000000539007547034"},
	    {"2348231", "RF712348231"},
	    {"1234567890", "RF471234567890"},
	    {"AB2G59X56V543", "RF19AB2G59X56V543"},
	};
	char out[REFERENCE_MAX];

	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		cr_expect(reference_make(out, rows[i].body));
		cr_expect_str_eq(out, rows[i].whole);
	}
}

Test(reference, is_read_as_people_type_it)
{
	char out[REFERENCE_MAX], grouped[GROUPED_MAX];

	cr_expect(reference_read(out, "RF18 5390 0754 7034"));
	cr_expect_str_eq(out, "RF18539007547034");
	cr_expect(reference_read(out, "rf18 5390 07547034"));
	cr_expect_str_eq(grouped_by_four(grouped, out), "RF18 5390 0754 7034");
}

Test(reference, with_a_slip_is_none)
{
	static const char *const rows[] = {"", "RF", "RF18", "RF1",
	    "RF19 5390 0754 7034", "RF18 5390 0754 7043", "RF81539007547034",
	    "RF18 5390 0754 703", "RX18 5390 0754 7034", "RF18-5390-0754-7034",
	    "RF18 5390 0754 7034 1111 1111 1111", "RF18539007547034\xC3\xA9"};
	char out[REFERENCE_MAX];

	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		cr_expect(!reference_read(out, rows[i]), "%s", rows[i]);
		cr_expect_str_eq(out, "");
	}
	cr_expect(!reference_make(out, ""));
	cr_expect(!reference_make(out, "1234567890123456789012"));
	cr_expect(!reference_make(out, "a"));
}

/* Every change of one sign and every swap of two neighbours is noticed. */
Test(reference, notices_every_single_slip)
{
	static const char good[] = "RF18539007547034";
	char bad[sizeof(good)], out[REFERENCE_MAX];

	for (size_t i = 2; good[i]; i++) {
		for (char c = '0'; c <= '9'; c++) {
			memcpy(bad, good, sizeof(good));
			bad[i] = c;
			cr_expect(c == good[i] || !reference_read(out, bad),
			    "%s", bad);
		}
		memcpy(bad, good, sizeof(good));
		if (!good[i + 1] || good[i] == good[i + 1])
			continue;
		bad[i] = good[i + 1];
		bad[i + 1] = good[i];
		cr_expect(!reference_read(out, bad), "%s", bad);
	}
}

Test(reference, tells_whose_it_is)
{
	static const int64_t ids[] = {
	    1, 2, 7, 12, 71, 96, 97, 98, 1000, REFERENCE_ID_MAX};
	static const size_t n = sizeof(ids) / sizeof(ids[0]);
	char all[100][REFERENCE_MAX];

	for (size_t i = 0; i < n * n; i++) {
		int64_t workshop = 0, member = 0;
		cr_assert(reference_of(all[i], ids[i / n], ids[i % n]));
		cr_assert(reference_whose(all[i], &workshop, &member));
		cr_expect_eq(workshop, ids[i / n]);
		cr_expect_eq(member, ids[i % n]);
		for (size_t k = 0; k < i; k++)
			cr_expect_str_neq(all[i], all[k]);
	}
	int64_t w, m;
	cr_expect(!reference_whose("RF18 5390 0754 7034", &w, &m));
	cr_expect(!reference_of(all[0], 0, 1));
	cr_expect(!reference_of(all[0], 1, REFERENCE_ID_MAX + 1));
}

Test(iban, takes_the_example_of_each_country)
{
	struct csv *csv = csv_open(DATA_DIR "/payments/iban.csv");
	size_t n = 0;

	for (csv_next(csv); csv_next(csv); n++) {
		const char *s = csv_field(csv, 0);
		struct err err = {0};
		char out[IBAN_MAX], grouped[GROUPED_MAX];
		cr_expect(iban_read(out, s, &err), "%s: %s", s, err.text);
		cr_expect(strchr(out, ' ') == NULL);
		cr_expect_str_eq(grouped_by_four(grouped, out), s);
	}
	cr_expect_gt(n, 70);
	csv_close(csv);
}

/* Most are the registry's examples with one thing wrong. */
Test(iban, refuses_what_is_none)
{
	static const struct {
		const char *s, *why;
	} rows[] = {
	    {"", "country"},
	    {"cash to the treasurer", "country"},
	    {"DE89 3704 0044 0532 0130", "20 signs, those of DE have 22"},
	    {"DE89 3704 0044 0532 0130 0000", "26 signs, those of DE have 22"},
	    {"XX89 3704 0044 0532 0130 00", "no such country"},
	    {"DE98 3704 0044 0532 0130 00", "check digits"},
	    {"DE89 3704 0044 0532 1030 00", "check digits"},
	    {"DEAA 3704 0044 0532 0130 00", "country and two check digits"},
	    {"DE89-3704-0044-0532-0130", "check digits"},
	    {"DE89 3704 0044 0532 0130 00 1234 1234 1234", "too long"},
	};

	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct err err = {0};
		char out[IBAN_MAX];
		cr_expect(!iban_read(out, rows[i].s, &err), "%s", rows[i].s);
		cr_expect(strstr(err.text, rows[i].why) != NULL ||
			      strstr(err.text, "signs") != NULL,
		    "%s: %s", rows[i].s, err.text);
		cr_expect_str_eq(out, "");
	}
}

Test(iban, knows_the_economic_area)
{
	cr_expect(iban_is_eea("DE89370400440532013000"));
	cr_expect(iban_is_eea("NO9386011117947"));
	cr_expect(!iban_is_eea("CH9300762011623852957"));
	cr_expect(!iban_is_eea("GB29NWBK60161331926819"));
}
