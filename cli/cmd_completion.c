/* SPDX-License-Identifier: MIT */
/*
 * completion: what a shell may offer while a command is typed.
 *
 * Drawn from the tables, so it cannot lag behind them:
 *     tearshare completion bash > ~/.local/share/bash-completion/completions/tearshare
 */
#include <string.h>

#include "command.h"
#include "status.h"

static void write_names(FILE *out)
{
	for (const struct command *c = commands; c->name; c++)
		if (command_is_first(c))
			fprintf(out, "%s%s", c == commands ? "" : " ", c->name);
}

/* `workshop) verbs="list show ..." ;;` */
static void write_verbs(FILE *out)
{
	for (const struct command *c = commands; c->name; c++) {
		if (!command_is_first(c) ||
		    (!c->verb &&
			(!c[1].name || strcmp(c[1].name, c->name) != 0)))
			continue;
		fprintf(out, "\t%s) verbs=\"", c->name);
		for (const struct command *v = c;
		     v->name && strcmp(v->name, c->name) == 0; v++)
			if (v->verb)
				fprintf(out, "%s%s",
				    v == c || !v[-1].verb ? "" : " ", v->verb);
		fputs("\" ;;\n", out);
	}
}

static void write_option_names(FILE *out, const char *names)
{
	bool first = true;
	for (const struct option_row *o = option_rows; o->name; o++) {
		if (!name_in_list(o->name, names))
			continue;
		fprintf(out, "%s--%s", first ? "" : " ", o->name);
		first = false;
	}
}

/* "workshop close") options="--workshop" ;; */
static void write_command_options(FILE *out)
{
	char title[64];
	for (const struct command *c = commands; c->name; c++) {
		if (!*c->options)
			continue;
		fprintf(
		    out, "\t\"%s\"%s) options=\"", command_title(title, c), "");
		write_option_names(out, c->options);
		fputs("\" ;;\n", out);
	}
}

/* What may stand behind an option: choices, a file, or something only the person knows. */
static void write_values(FILE *out)
{
	for (const struct option_row *o = option_rows; o->name; o++) {
		if (!o->value)
			continue;
		if (!o->values)
			fprintf(out, "\t--%s) return ;;\n", o->name);
		else if (strcmp(o->values, "FILE") == 0)
			fprintf(out,
			    "\t--%s) COMPREPLY=($(compgen -f -- \"$word\")); "
			    "return ;;\n",
			    o->name);
		else
			fprintf(out,
			    "\t--%s) COMPREPLY=($(compgen -W '%s' -- "
			    "\"$word\")); "
			    "return ;;\n",
			    o->name, o->values);
	}
}

static const char head[] =
    "# bash completion of tearshare; made by: tearshare completion bash\n"
    "_tearshare()\n"
    "{\n"
    "\tlocal word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - "
    "1]}\n"
    "\tlocal command= verb= verbs= options= i\n"
    "\tlocal IFS=$' \\t\\n'\n"
    "\tcase $before in\n";

static const char middle[] =
    "\tesac\n"
    "\tfor ((i = 1; i < COMP_CWORD; i++)); do\n"
    "\t\t[[ ${COMP_WORDS[i]} == -* ]] && continue\n"
    "\t\tif [[ -z $command ]]; then command=${COMP_WORDS[i]}\n"
    "\t\telif [[ -z $verb ]]; then verb=${COMP_WORDS[i]}; fi\n"
    "\tdone\n"
    "\tcase $command in\n";

bool cmd_completion(struct call *call, struct err *err)
{
	FILE *out = call->pen.out;
	if (strcmp(call_word(call, 0), "bash") != 0) {
		err_set(err, ERR_INPUT, "there is no completion for \"%.40s\"",
		    call_word(call, 0));
		return err_hint(err, "There is one for bash.");
	}
	fputs(head, out);
	write_values(out);
	fputs(middle, out);
	write_verbs(out);
	fputs("\tesac\n\t[[ \" $verbs \" == *\" $verb \"* ]] || verb=\n"
	      "\tcase \"$command${verb:+ $verb}\" in\n",
	    out);
	write_command_options(out);
	fputs("\tesac\n\tif [[ $word == -* ]]; then\n"
	      "\t\tCOMPREPLY=($(compgen -W \"$options ",
	    out);
	write_option_names(out, general_options);
	fputs("\" -- \"$word\"))\n\telif [[ -z $command ]]; then\n"
	      "\t\tCOMPREPLY=($(compgen -W \"",
	    out);
	write_names(out);
	fputs("\" -- \"$word\"))\n\telif [[ -z $verb ]]; then\n"
	      "\t\tCOMPREPLY=($(compgen -W \"$verbs\" -- \"$word\"))\n"
	      "\tfi\n}\ncomplete -o default -F _tearshare tearshare\n",
	    out);
	return true;
}
