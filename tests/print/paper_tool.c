/* SPDX-License-Identifier: MIT */
/*
 * Prints the workshop of paper_case.h: print_paper statement|account text|pdf|commands|csv
 * [LANGUAGE [LOCALE]], for golden files and for checks from outside.
 */
#include <stdio.h>

#include "paper_case.h"

static bool print(struct paper_case *c, const char *what, const char *form,
    struct text *out, struct err *err)
{
	bool statement = strcmp(what, "statement") == 0;
	struct folio *f = statement ? statement_folio(&c->statement)
				    : account_folio(&c->account);
	bool ok = true;

	if (strcmp(form, "text") == 0)
		folio_text_form(f, out);
	else if (strcmp(form, "commands") == 0)
		folio_commands(f, out);
	else if (strcmp(form, "csv") == 0)
		entries_csv(statement ? c->statement.entries : c->entries,
		    statement ? c->statement.n_entries : c->n_entries, out);
	else
		ok = folio_pdf(f, out, err);
	folio_delete(f);
	return ok;
}

int main(int argc, char **argv)
{
	struct paper_case c;
	struct text out;
	struct err err = {0};
	bool ok = false;

	if (argc < 3) {
		fputs("usage: print_paper statement|account FORM [LANGUAGE "
		      "[LOCALE]]\n",
		    stderr);
		return 2;
	}
	paper_case_init(
	    &c, true, argc > 3 ? argv[3] : "en", argc > 4 ? argv[4] : "en");
	text_init(&out, FOLIO_MAX);
	ok = print(&c, argv[1], argv[2], &out, &err) && text_fits(&out);
	if (ok)
		fwrite(out.data, 1, out.len, stdout);
	else
		fprintf(stderr, "%s\n", err.text);
	text_free(&out);
	paper_case_free(&c);
	print_shutdown();
	return ok ? 0 : 1;
}
