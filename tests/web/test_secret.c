/* SPDX-License-Identifier: MIT */
/*
 * Secrets: their form, their hash, and the seal of kept answers.
 *
 * SHA-256 of "abc": FIPS 180-4, the example of appendix B.1 as NIST publishes it.
 */
#include <criterion/criterion.h>

#include <stdlib.h>
#include <string.h>

#include "secret.h"
#include "web.h"

Test(secret, a_key_has_its_form_and_no_two_are_alike)
{
	char keys[64][WEB_KEY_TEXT];
	unsigned char hash[32], again[32];

	for (size_t i = 0; i < 64; i++) {
		web_key_make(keys[i], hash);
		cr_assert(secret_is_key(keys[i]), "%s", keys[i]);
		cr_assert_eq(strlen(keys[i]), 47);
		secret_hash(keys[i], again);
		cr_assert_arr_eq(hash, again, 32);
		for (size_t k = 0; k < i; k++)
			cr_assert_str_neq(keys[i], keys[k]);
	}
}

Test(secret, the_hash_is_sha_256)
{
	static const unsigned char abc[32] = {0xba, 0x78, 0x16, 0xbf, 0x8f,
	    0x01, 0xcf, 0xea, 0x41, 0x41, 0x40, 0xde, 0x5d, 0xae, 0x22, 0x23,
	    0xb0, 0x03, 0x61, 0xa3, 0x96, 0x17, 0x7a, 0x9c, 0xb4, 0x10, 0xff,
	    0x61, 0xf2, 0x00, 0x15, 0xad};
	unsigned char hash[32];

	secret_hash("abc", hash);
	cr_assert_arr_eq(hash, abc, 32);
}

Test(secret, what_is_no_key_is_not_taken_for_one)
{
	static const char *const bad[] = {"", "tsk_", "tsk_AAAA",
	    "TSK_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",
	    "tsk_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",
	    "tsk_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",
	    "tsk_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA+",
	    "tsk_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=", NULL};

	for (size_t i = 0; bad[i] != NULL; i++)
		cr_expect_not(secret_is_key(bad[i]), "%s", bad[i]);
}

Test(secret, a_code_is_read_as_people_type_it)
{
	static const struct {
		const char *typed, *read; /* NULL: refused */
	} rows[] = {
	    {"0AS7-YX0Z7-N2BZ", "0AS7YX0Z7N2BZ"},
	    {"0as7yx0z7n2bz", "0AS7YX0Z7N2BZ"},
	    {" oas7 yxoz7 n2bz ", "0AS7YX0Z7N2BZ"},
	    {"IL11-ilIL1-O0oO", "111111111"
				"0000"},
	    {"0AS7-YX0Z7-N2B", NULL},
	    {"0AS7-YX0Z7-N2BZZ", NULL},
	    {"0AS7-YX0Z7-N2BU", NULL},
	    {"", NULL},
	    {"0AS7-YX0Z7-N2B\xc3", NULL},
	    {"SQB93PZ7HWQZMFWK2R872982ZX", "SQB93PZ7HWQZMFWK2R872982ZX"},
	    {"SQB93PZ7HWQZMFWK2R872982ZXX", NULL},
	};
	char text[TOKEN_TEXT];

	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		bool good = code_read(rows[i].typed, text);

		cr_expect_eq(
		    good, rows[i].read != NULL, "\"%s\"", rows[i].typed);
		if (good && rows[i].read != NULL)
			cr_expect_str_eq(
			    text, rows[i].read, "\"%s\"", rows[i].typed);
	}
}

Test(secret, codes_and_tokens_are_read_back)
{
	char code[CODE_TEXT], token[TOKEN_TEXT], text[TOKEN_TEXT];

	for (int i = 0; i < 200; i++) {
		code_make(code);
		token_make(token);
		cr_assert(code_read(code, text));
		cr_assert_eq(strlen(text), 13);
		cr_assert(code_read(token, text));
		cr_assert_str_eq(text, token);
	}
}

Test(secret, what_was_sealed_is_opened_by_the_same_secret_and_key_only)
{
	static const char plain[] = "{\"key\":\"tsk_x\"}";
	unsigned char *sealed = NULL, *open = NULL;
	size_t len = 0, open_len = 0;

	cr_assert(
	    secret_seal("secret", "once", plain, sizeof(plain), &sealed, &len));
	cr_assert_eq(len, sizeof(plain) + 28, "nonce and tag");
	for (size_t i = 0; i + 8 < len; i++)
		cr_assert(memcmp(sealed + i, plain, 8) != 0,
		    "it stands there in clear");
	cr_assert(secret_open("secret", "once", sealed, len, &open, &open_len));
	cr_assert_eq(open_len, sizeof(plain));
	cr_assert_arr_eq(open, plain, sizeof(plain));
	free(open);
	cr_assert_not(
	    secret_open("Secret", "once", sealed, len, &open, &open_len));
	cr_assert_not(
	    secret_open("secret", "Once", sealed, len, &open, &open_len));
	for (size_t i = 0; i < len; i++) {
		sealed[i] ^= 1;
		cr_assert_not(secret_open("secret", "once", sealed, len, &open,
				  &open_len),
		    "octet %zu was changed", i);
		sealed[i] ^= 1;
	}
	for (size_t n = 0; n < len; n++)
		cr_assert_not(
		    secret_open("secret", "once", sealed, n, &open, &open_len),
		    "cut to %zu", n);
	free(sealed);
}

Test(secret, the_same_is_never_sealed_alike)
{
	unsigned char *a = NULL, *b = NULL;
	size_t a_len = 0, b_len = 0;

	cr_assert(secret_seal("s", "k", "same", 4, &a, &a_len));
	cr_assert(secret_seal("s", "k", "same", 4, &b, &b_len));
	cr_assert(a_len == b_len && memcmp(a, b, a_len) != 0);
	free(a);
	free(b);
}
