/* SPDX-License-Identifier: MIT */
/*
 * Find what a person means: a workshop, paper, member or plan by number, by name, by the
 * beginning of a name, or by nothing at all when only one can be meant.
 */
#ifndef CLI_FIND_H
#define CLI_FIND_H

#include "cli_call.h"

/*
 * The workshop meant by --workshop or else by `typed` (may be NULL).  When neither is
 * there: among those whose state stands in `states` (blank-separated, NULL: any) the one
 * last used, or the only one.  *out is yours.
 */
bool find_workshop(struct call *call, const char *typed, const char *states,
    json_t **out, struct err *err) MUST_USE;
/* Only its id. */
bool find_workshop_id(struct call *call, const char *typed, const char *states,
    int64_t *id, struct err *err) MUST_USE;
/* Keep it as the one last used. */
bool find_remember(
    struct call *call, int64_t workshop, struct err *err) MUST_USE;

/* typed NULL: the only paper of the workshop. */
bool find_paper(struct call *call, const char *typed, const json_t *workshop,
    int64_t *id, struct err *err) MUST_USE;
bool find_member(struct call *call, const char *typed, int64_t *id,
    struct err *err) MUST_USE;
/* typed NULL: the one signed in. */
bool find_member_or_me(struct call *call, const char *typed, int64_t *id,
    struct err *err) MUST_USE;
/* typed NULL: the newest plan of the workshop, or the accepted one when there is one. */
bool find_plan(struct call *call, const char *typed, json_t **out,
    struct err *err) MUST_USE;

/* A number of ours: digits only, above zero; what: "request". */
bool find_number(
    const char *typed, const char *what, int64_t *id, struct err *err) MUST_USE;
/* The item of a list whose name is meant; borrowed from items, NULL with err filled. */
const json_t *find_by_name(
    const json_t *items, const char *typed, const char *what, struct err *err);

#endif
