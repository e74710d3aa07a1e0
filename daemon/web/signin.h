/* SPDX-License-Identifier: MIT */
/*
 * The way in, for whoever is not known: asked for wherever it is needed, so that nothing that
 * was typed is lost when a session has ended.
 */
#ifndef WEB_SIGNIN_H
#define WEB_SIGNIN_H

#include "call.h"

/*
 * Answer a call of nobody with the sign-in.  After a GET, signing in leads on to the page that was
 * wanted.  What was posted is kept in the form, and offered to be sent after signing in.
 */
void signin_ask(struct call *call, int status);

#endif
