/* SPDX-License-Identifier: MIT */
/*
 * share_form.c - how a cost is shared, asked for in words of the table.
 */
#include "share_form.h"

#include "derive.h"
#include "field.h"
#include "form.h"
#include "read.h"

static const struct choice policies[] = {
    {"0", "the whole order, by torn area"},
    {"1", "what was torn; the studio keeps the roll-ends at cost"},
};

void share_write_rules(struct call *call, struct html *h, int64_t policy,
    bool ceiling, bool shipping_each)
{
	field_choose(call, h,
	    &(struct field){.name = "share_policy",
		.label = "What is shared",
		.value = field_version(call, policy)},
	    policies, sizeof policies / sizeof policies[0]);
	field_tick(call, h,
	    &(struct field){.name = "share_ceiling",
		.label = "Nobody pays more than alone",
		.hint = "Who is over what their own sheets alone would have "
			"cost is cut to that; the others bear the rest."},
	    ceiling);
	field_tick(call, h,
	    &(struct field){.name = "shipping_each",
		.label = "Shipping in equal parts",
		.hint = "Otherwise by area, like the paper."},
	    shipping_each);
}

void share_read_rules(
    struct call *call, int64_t *policy, bool *ceiling, bool *shipping_each)
{
	if (form_get(call->form, "share_policy") == NULL)
		return;
	*policy = read_number(
	    call, "share_policy", "what is shared", SHARE_ORDER, SHARE_TORN);
	*ceiling = field_is_ticked(call, "share_ceiling");
	*shipping_each = field_is_ticked(call, "shipping_each");
}
