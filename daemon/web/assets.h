/* SPDX-License-Identifier: MIT */
/*
 * The files of static/, compiled into the program (embed.cmake): style sheet and drawings.
 */
#ifndef WEB_ASSETS_H
#define WEB_ASSETS_H

#include <stddef.h>

struct asset {
	const char *name; /* "style.css" */
	const char *type; /* with charset where it is text */
	const char
	    *version; /* of the content: changes when a byte of it does */
	const unsigned char *bytes;
	size_t len;
};

extern const struct asset assets[];
extern const size_t n_assets;

#endif
