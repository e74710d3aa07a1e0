/* SPDX-License-Identifier: MIT */
/*
 * catalogue.c - which language is printed.
 *
 * The language is kept for the thread and not handed through every function that says a
 * word: it is set at the door of each form (sheet_text, sheet_pdf ...) from the sheet, and
 * nothing else reads it.  A word that a catalogue lacks is printed in English; a test sees
 * to it that none is lacking.
 */
#include "catalogue.h"

#include <stdlib.h>
#include <string.h>

static const struct catalogue *const catalogues[] = {&catalogue_de};
#define N_CATALOGUES (sizeof(catalogues) / sizeof(catalogues[0]))

static _Thread_local const struct catalogue *now;

static const struct catalogue *find(const char *language)
{
	for (size_t i = 0; language && i < N_CATALOGUES; i++) {
		if (strcmp(catalogues[i]->language, language) == 0)
			return catalogues[i];
	}
	return NULL;
}

void catalogue_use(const char *language)
{
	now = find(language);
}

bool catalogue_known(const char *language)
{
	return language && (strcmp(language, "en") == 0 || find(language));
}

const char *catalogue_language(void)
{
	return now ? now->language : "en";
}

static int by_english(const void *key, const void *word)
{
	return strcmp(key, ((const struct word *)word)->english);
}

const char *catalogue_say(const char *english)
{
	const struct word *found = NULL;

	if (now)
		found = bsearch(english, now->words, now->n,
		    sizeof(*now->words), by_english);
	return found ? found->other : english;
}
