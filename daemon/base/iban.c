/* SPDX-License-Identifier: MIT */
/*
 * iban.c - is it an account number of a bank?
 *
 * The lengths are those of the IBAN registry (ISO 13616-2), from memory; tests/data/payments/iban.csv
 * holds the registry's example of each country but the few marked there.  The inner form of a
 * country's number (which signs are letters) is left to the bank: a slip in it is found by
 * the check digits as well.
 */
#include "iban.h"

#include <string.h>

#include "reference.h"

/* country, length; a star: of the European Economic Area */
static const char countries[] =
    "AD24 AE23 AL28 AT20*AZ28 BA20 BE16*BG22*BH22 BI27 BR29 BY28 CH21 CR22 "
    "CY28*CZ24*DE22*DJ27 DK18*DO28 EE20*EG29 ES24*FI18*FK18 FO18 FR27*GB22 "
    "GE22 GI23 GL18 GR27*GT28 HN28 HR21*HU28*IE22*IL23 IQ23 IS26*IT27*JO30 "
    "KW30 KZ20 LB28 LC32 LI21*LT20*LU20*LV21*LY25 MC27 MD24 ME22 MK19 MN20 "
    "MR27 MT31*MU30 NI28 NL18*NO15*OM23 PK24 PL28*PS29 PT25*QA29 RO24*RS22 "
    "RU33 SA24 SC31 SD18 SE24*SI19*SK24*SM27 SO23 ST25 SV28 TL23 TN24 TR26 "
    "UA29 VA22 VG24 XK20 YE30 ";

static const char *country_of(const char *iban)
{
	for (const char *at = countries; *at; at += 5)
		if (memcmp(at, iban, 2) == 0)
			return at;
	return NULL;
}

static bool is_letter(char c)
{
	return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

bool iban_is_meant(const char *s)
{
	return is_letter(s[0]) && is_letter(s[1]) && is_digit(s[2]) &&
	       is_digit(s[3]);
}

static bool refuse(struct err *err, const char *s, const char *why)
{
	err_set(err, ERR_INPUT, "\"%.60s\" is not an IBAN: %s", s, why);
	return err_hint(err, "Copy it from the bank's own papers.");
}

/* The number with its first four signs behind the others, as the check wants it. */
static int rest_of(const char *iban, size_t len)
{
	char turned[IBAN_MAX];

	memcpy(turned, iban + 4, len - 4);
	memcpy(turned + len - 4, iban, 4);
	return mod_97(turned, len);
}

bool iban_read(char out[static IBAN_MAX], const char *s, struct err *err)
{
	char flat[IBAN_MAX];
	const char *country = NULL;
	size_t n = 0, wanted = 0;

	out[0] = '\0';
	for (const char *at = s; *at; at++) {
		if (*at == ' ')
			continue;
		if (n + 1 >= IBAN_MAX)
			return refuse(err, s, "it is too long");
		flat[n++] =
		    *at >= 'a' && *at <= 'z' ? (char)(*at - 'a' + 'A') : *at;
	}
	flat[n] = '\0';
	if (n < 5 || !iban_is_meant(flat))
		return refuse(err, s,
		    "it does not begin with a country and two check digits");
	country = country_of(flat);
	if (country == NULL)
		return refuse(err, s, "no such country has any");
	wanted = (size_t)(country[2] - '0') * 10 + (size_t)(country[3] - '0');
	if (n != wanted) {
		err_set(err, ERR_INPUT,
		    "\"%.60s\" is not an IBAN: it has %zu signs, those of %.2s "
		    "have %zu",
		    s, n, country, wanted);
		return err_hint(err, "Copy it from the bank's own papers.");
	}
	/* 00, 01 and 99 leave the same remainders as 97, 98 and 02, but are never given */
	if (rest_of(flat, n) != 1 || memcmp(flat + 2, "00", 2) == 0 ||
	    memcmp(flat + 2, "01", 2) == 0 || memcmp(flat + 2, "99", 2) == 0)
		return refuse(err, s, "its check digits do not fit the rest");
	memcpy(out, flat, n + 1);
	return true;
}

bool iban_is_eea(const char *iban)
{
	const char *country = country_of(iban);

	return country != NULL && country[4] == '*';
}
