/* SPDX-License-Identifier: MIT */
/*
 * Every word the tear sheet prints passes through _(), so that one catalogue can
 * translate them all.  The English text is the key, as in gettext; the catalogues are
 * po/LANGUAGE.po and become catalogue_LANGUAGE.c by po/compile.
 *
 * gettext itself was tried and left: it chooses the language by the process's locale, and a
 * small Debian has no locale but C; one daemon prints for studios of several languages.
 */
#ifndef PRINT_CATALOGUE_H
#define PRINT_CATALOGUE_H

#include <stdbool.h>
#include <stddef.h>

struct word {
	const char *english, *other;
};

struct catalogue {
	const char *language;     /* "de" */
	const struct word *words; /* in the order of strcmp(english) */
	size_t n;
};

extern const struct catalogue catalogue_de;

/* Language of what this thread prints from now on; an unknown one, NULL or "" is English. */
void catalogue_use(const char *language);
/* True when there is a catalogue ("en" always is). */
bool catalogue_known(const char *language);
/* "en" or the language of the catalogue in use. */
const char *catalogue_language(void);

const char *catalogue_say(const char *english) __attribute__((format_arg(1)));
#define _(english) catalogue_say(english)
#define N_(english) english /* translated later, by _() on the variable */

#endif
