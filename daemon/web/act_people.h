/* SPDX-License-Identifier: MIT */
/*
 * The studio, its members and their keys.  Actions as in act_request.h.
 *
 * Rows given are whole, with the ids and version of what is changed.
 */
#ifndef WEB_ACT_PEOPLE_H
#define WEB_ACT_PEOPLE_H

#include "call.h"

#define NAME_MAX_SIGNS 80
#define TEXT_MAX_SIGNS 200

typedef void act_studio_fn(struct call *call, const struct studio *studio);
void act_studio_change(
    struct call *call, const struct studio *studio, act_studio_fn *done);

typedef void act_member_fn(struct call *call, const struct member *member);
void act_member_add(
    struct call *call, const struct member *member, act_member_fn *done);
/* call->member as `member` says; who may change what is checked here. */
void act_member_change(
    struct call *call, const struct member *member, act_member_fn *done);

/* secret: "tsk_...", shown this once. */
typedef void act_key_fn(
    struct call *call, const struct key *key, const char *secret);
/* For call->member.  expires_at: RFC 3339 in UTC or NULL. */
void act_key_add(struct call *call, const char *name, const char *expires_at,
    act_key_fn *done);
/* call->key */
void act_key_revoke(struct call *call, call_fn *done);

/* "student", "instructor", "treasurer", "owner" */
const char *role_name(unsigned role);
unsigned role_from(const char *name); /* 0: none */

#endif
