/* SPDX-License-Identifier: MIT */
/*
 * tearshare: the command line of a studio's shared paper.  The table of its commands is
 * in commands.c; each command has a file of its own, cmd_NAME.c.
 */
#include <curl/curl.h>
#include <locale.h>
#include <signal.h>
#include <stdio.h>

#include "command.h"

int main(int argc, char **argv)
{
	/* Widths of characters need a locale; the rest of the program writes UTF-8 itself. */
	setlocale(LC_CTYPE, "C.UTF-8");
	signal(SIGPIPE, SIG_IGN);
	curl_global_init(CURL_GLOBAL_DEFAULT);
	int status = cli_run(argc, argv, stdout, stderr);
	curl_global_cleanup();
	return status;
}
