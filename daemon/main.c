/* SPDX-License-Identifier: MIT */
/*
 * tearshared - the server of shared paper; see tearshared(8).
 *
 * Options, then one of: serve, plan, studio, owner-key, check.  No rule of the studio lives here.
 */
#include <stdio.h>
#include <string.h>

#include "cmds.h"
#include "options.h"
#include "serve.h"

static const struct {
	const char *name;
	enum exit_status (*run)(const struct options *o, int argc, char **argv);
} cmds[] = {
    {"plan", cmd_plan},
    {"studio", cmd_studio},
    {"owner-key", cmd_owner_key},
    {"check", cmd_check},
};

enum exit_status exit_status_of(const struct err *err)
{
	switch (err->kind) {
	case ERR_UNKNOWN:
		return EXIT_USAGE_LINE;
	case ERR_BUSY:
	case ERR_LIMIT:
		return EXIT_TRY_LATER;
	case ERR_INTERNAL:
		return EXIT_FAULT;
	default:
		return EXIT_CONFIGURATION;
	}
}

void complain(const struct err *err)
{
	fprintf(stderr, "tearshared: %s\n", err->text);
	if (*err->hint)
		fprintf(stderr, "%s\n", err->hint);
}

static enum exit_status run_command(
    const struct options *o, const struct call *call, char **argv)
{
	const char *name = argv[call->first_rest];

	for (size_t i = 0; i < sizeof(cmds) / sizeof(*cmds); i++)
		if (!strcmp(cmds[i].name, name))
			return cmds[i].run(
			    o, call->n_rest - 1, argv + call->first_rest + 1);
	fprintf(stderr,
	    "tearshared: there is no command \"%s\"\n"
	    "tearshared --help lists them.\n",
	    name);
	return EXIT_USAGE_LINE;
}

static enum exit_status serve_or_check(
    const struct options *o, const struct call *call)
{
	struct err err;

	if (!options_check(o, &err)) {
		complain(&err);
		return EXIT_CONFIGURATION;
	}
	if (call->check_only) {
		puts("the configuration can be used");
		return EXIT_OK;
	}
	return serve(o, call->foreground);
}

static enum exit_status run(struct options *o, int argc, char **argv)
{
	struct call call;
	struct err err;

	if (!options_read(o, argc, argv, &call, &err)) {
		complain(&err);
		return exit_status_of(&err);
	}
	if (call.help)
		options_print_help(stdout);
	else if (call.version)
		puts("tearshared " PROJECT_VERSION);
	else if (call.sample)
		options_print_sample(stdout);
	else if (call.n_rest > 0)
		return run_command(o, &call, argv);
	else
		return serve_or_check(o, &call);
	return EXIT_OK;
}

int main(int argc, char **argv)
{
	struct options o;
	enum exit_status status;

	options_init(&o);
	status = run(&o, argc, argv);
	options_free(&o);
	return (int)status;
}
