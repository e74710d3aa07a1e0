/* SPDX-License-Identifier: MIT */
/*
 * Every word the tear sheet prints passes through _(), so that one catalogue can
 * translate them all.  The English text is the key.
 */
#ifndef PRINT_WORDS_H
#define PRINT_WORDS_H

static inline const char *_(const char *english) __attribute__((format_arg(1)));
static inline const char *_(const char *english)
{
	return english;
}

#endif
