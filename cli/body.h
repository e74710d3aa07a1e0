/* SPDX-License-Identifier: MIT */
/*
 * Options to the members of a request's body: each function adds `member` when the option
 * was given and does nothing when it was not.
 */
#ifndef CLI_BODY_H
#define CLI_BODY_H

#include "cli_call.h"
#include "measure.h"
#include "sizes.h"

bool body_add_text(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err) MUST_USE;
bool body_add_number(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err) MUST_USE;
/* --policy, --ceiling and --shipping-each. */
bool body_add_sharing(struct call *call, json_t *body, struct err *err);
bool body_add_yes(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err) MUST_USE;
bool body_add_length(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err) MUST_USE;
bool body_add_when(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err) MUST_USE;
/* "none" is null. */
bool body_add_day(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err) MUST_USE;
bool body_add_money(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err) MUST_USE;
/* --turn and --no-turn. */
bool body_add_turn(struct call *call, json_t *body, struct err *err) MUST_USE;
/* --role, each one. */
bool body_add_roles(struct call *call, json_t *body, struct err *err) MUST_USE;
/* False with a hint when a change names nothing to change. */
bool body_is_filled(
    const struct call *call, const json_t *body, struct err *err) MUST_USE;

/* A length, zero too; without a unit it is in the studio's measure, which is told. */
bool call_length(struct call *call, const char *text, struct size *out,
    struct err *err) MUST_USE;
/* The same for across x along. */
bool call_size(struct call *call, const char *text, struct size *out,
    struct err *err) MUST_USE;
/* One side of a size, as it was written: the server keeps the words. */
void body_set_side(
    json_t *body, const char *member, const struct size *size, int side);
/* An amount of the studio's currency. */
bool call_amount(
    struct call *call, const char *text, money *out, struct err *err) MUST_USE;

#endif
