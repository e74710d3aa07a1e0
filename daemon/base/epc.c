/* SPDX-License-Identifier: MIT */
/*
 * epc.c - lines of a payment's QR code.
 *
 * Nothing is shortened: a name or text cut in secret would be another one.  The guideline
 * ends the code with its last filled line, without a line end.
 */
#include "epc.h"

#include <string.h>

#include "iban.h"
#include "reference.h"

static bool check_line(
    const char *what, const char *s, size_t most, struct err *err)
{
	if (s == NULL)
		return true;
	if (!utf8_is_line(s, strlen(s)))
		return err_set(err, ERR_INPUT,
		    "the %s of a payment must be one line of text", what);
	if (utf8_length(s) > most)
		return err_set(err, ERR_INPUT,
		    "the %s \"%.80s\" has %zu signs, a payment's code holds "
		    "%zu",
		    what, s, utf8_length(s), most);
	return true;
}

static bool is_bic(const char *s)
{
	size_t n = strlen(s);

	return (n == 8 || n == 11) &&
	       strspn(s, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") == n;
}

static bool check(const struct epc *p, struct err *err)
{
	char iban[IBAN_MAX], reference[REFERENCE_MAX];

	if (!check_line("name", p->name, EPC_NAME_MAX, err) ||
	    !check_line("purpose", p->purpose, 4, err) ||
	    !check_line("text", p->text, 140, err) ||
	    !check_line("hint", p->hint, 70, err) ||
	    !iban_read(iban, p->iban, err))
		return false;
	if (p->name[strspn(p->name, " ")] == '\0')
		return err_set(err, ERR_INPUT, "the payee has no name");
	if (p->bic != NULL && !is_bic(p->bic))
		return err_set(
		    err, ERR_INPUT, "\"%.40s\" is not a BIC", p->bic);
	if (p->bic == NULL && !iban_is_eea(iban))
		return err_set(err, ERR_INPUT,
		    "an account in %.2s needs a BIC in a payment's code", iban);
	if (p->amount < 1 || p->amount > EPC_AMOUNT_MAX)
		return err_set(err, ERR_INPUT,
		    "%lld cents are no amount for a payment's code",
		    (long long)p->amount);
	if (p->reference != NULL && p->text != NULL)
		return err_set(err, ERR_INPUT,
		    "a payment's code has a reference or a text, not both");
	if (p->reference != NULL && !reference_read(reference, p->reference))
		return err_set(err, ERR_INPUT,
		    "\"%.40s\" is not a reference of ISO 11649", p->reference);
	return true;
}

static void add_amount(struct text *out, money amount)
{
	text_addf(out, "EUR%lld", (long long)(amount / 100));
	if (amount % 100 != 0)
		text_addf(out, ".%02lld", (long long)(amount % 100));
}

bool epc_write(const struct epc *p, struct text *out, struct err *err)
{
	char iban[IBAN_MAX], reference[REFERENCE_MAX] = "";
	const char *last[4] = {p->purpose, reference, p->text, p->hint};
	size_t n = 4, from = out->len;

	if (!check(p, err) || !iban_read(iban, p->iban, err))
		return false;
	if (p->reference != NULL)
		(void)reference_read(reference, p->reference);
	text_addf(out, "BCD\n%s\n1\nSCT\n%s\n%s\n%s\n", p->bic ? "001" : "002",
	    p->bic ? p->bic : "", p->name, iban);
	add_amount(out, p->amount);
	while (n > 0 && (last[n - 1] == NULL || *last[n - 1] == '\0'))
		n--;
	for (size_t i = 0; i < n; i++)
		text_addf(out, "\n%s", last[i] ? last[i] : "");
	if (!text_fits(out) || out->len - from > EPC_MAX)
		return err_set(err, ERR_INPUT,
		    "a payment's code holds %d bytes, this one has %zu",
		    EPC_MAX, out->len - from);
	return true;
}
