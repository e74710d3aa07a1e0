/* SPDX-License-Identifier: MIT */
/*
 * measure_money.c - money in minor units, and how many decimals a currency has.
 *
 * The decimals are those of ISO 4217 (list one, "minor unit"; the table is from memory
 * and checked in part against tests/data/trade/checks.csv).  Codes without a minor
 * unit (metals, test codes) are not currencies a studio can charge in and are unknown
 * here.
 */
#include "measure.h"

#include <stdio.h>
#include <string.h>

/* The exceptions first; then every other circulating currency, all with two. */
static const char without_decimals[] =
    "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF ";
static const char with_three[] = "BHD IQD JOD KWD LYD OMR TND ";
static const char with_four[] = "CLF UYW ";
static const char with_two[] =
    "AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BMD BND BOB BRL "
    "BSD BTN BWP BYN BZD "
    "CAD CDF CHF CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP "
    "GBP GEL GHS GIP GMD "
    "GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK "
    "LBP LKR LRD LSL MAD "
    "MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR "
    "NZD PAB PEN PGK PHP "
    "PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN "
    "SVC SYP SZL THB TJS "
    "TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST XCD YER ZAR ZMW ZWG ";

static bool listed(const char *list, const char *code)
{
	for (const char *p = list; *p; p += 4)
		if (memcmp(p, code, 3) == 0)
			return true;
	return false;
}

int currency_exponent(const char *code)
{
	if (!code || strlen(code) != 3)
		return -1;
	if (listed(with_two, code))
		return 2;
	if (listed(without_decimals, code))
		return 0;
	if (listed(with_three, code))
		return 3;
	return listed(with_four, code) ? 4 : -1;
}

static int64_t power_of_ten(int exponent)
{
	int64_t p = 1;
	while (exponent-- > 0)
		p *= 10;
	return p;
}

const char *money_print(
    char buf[static MONEY_TEXT_MAX], money m, const char *code)
{
	int exponent = currency_exponent(code);
	char digits[24], out[24];
	size_t n = (size_t)snprintf(digits, sizeof(digits), "%05llu",
	    (unsigned long long)(m < 0 ? -(uint64_t)m : (uint64_t)m));

	/* The digits are at least five, so that there is one before the point; then drop zeros. */
	size_t before = n - (size_t)(exponent > 0 ? exponent : 0), start = 0;
	while (start + 1 < before && digits[start] == '0')
		start++;
	snprintf(
	    out, sizeof(out), "%.*s", (int)(before - start), digits + start);
	snprintf(buf, MONEY_TEXT_MAX, "%s%.20s%s%.4s %.12s", m < 0 ? "-" : "",
	    out, exponent > 0 ? "." : "", digits + before,
	    exponent < 0 ? "minor units" : code);
	return buf;
}

static bool refuse(const char *s, size_t len, struct err *err, const char *why)
{
	return err_set(err, ERR_INPUT, "\"%.*s\" is not an amount: %s",
	    len > 40 ? 40 : (int)len, s, why);
}

/* Digits from *at as a number below 10^17. */
static int read_digits(const char *s, size_t len, size_t *at, int64_t *value)
{
	int count = 0;
	for (; *at < len && s[*at] >= '0' && s[*at] <= '9'; ++*at) {
		if (++count > 17)
			return -1;
		*value = *value * 10 + (s[*at] - '0');
	}
	return count;
}

bool money_parse(
    const char *s, size_t len, const char *code, money *out, struct err *err)
{
	int exponent = currency_exponent(code);
	if (exponent < 0)
		return err_set(err, ERR_INPUT,
		    "\"%s\" is not a currency of ISO 4217 that we know", code);
	while (len && s[len - 1] == ' ')
		len--;
	size_t at = 0;
	while (at < len && s[at] == ' ')
		at++;
	bool negative = at < len && s[at] == '-';
	at += negative;

	int64_t whole = 0, part = 0;
	int n = read_digits(s, len, &at, &whole), decimals = 0;
	if (n <= 0)
		return refuse(s, len, err,
		    n ? "it has too many digits"
		      : "it does not begin with a number");
	if (at < len && s[at] == '.') {
		at++;
		decimals = read_digits(s, len, &at, &part);
		if (decimals <= 0 || decimals > exponent) {
			refuse(s, len, err,
			    "its decimals are not those of the currency");
			return err_hint(
			    err, "%s has %d decimals.", code, exponent);
		}
	} else if (at < len && s[at] == ',') {
		refuse(s, len, err, "a comma can mean two things");
		return err_hint(
		    err, "Write 12.50, without separators between thousands.");
	}
	while (at < len && s[at] == ' ')
		at++;
	if (at != len && !(len - at == 3 && memcmp(s + at, code, 3) == 0))
		return refuse(
		    s, len, err, "something stands behind the number");

	wide total = (wide)whole * power_of_ten(exponent) +
		     (wide)part * power_of_ten(exponent - decimals);
	if (total > INT64_MAX / 2)
		return refuse(s, len, err, "it is too large");
	*out = negative ? -(money)total : (money)total;
	return true;
}
