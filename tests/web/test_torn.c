/* SPDX-License-Identifier: MIT */
/*
 * What is left of a roll after its last strip.
 */
#include <criterion/criterion.h>

#include "torn.h"

Test(torn, the_rest_begins_after_the_last_strip)
{
	struct strip strips[] = {
	    {.at = 0, .height = 30}, {.at = 40, .height = 10}};
	struct roll roll = {.stock = 3,
	    .width = 45,
	    .length = 100,
	    .strips = strips,
	    .n_strips = 2};
	struct rest rest;

	cr_assert(torn_rest(&roll, 50, &rest), "exactly as long as is kept");
	cr_assert(rest.width == 45 && rest.length == 50 && rest.from == 50 &&
		  rest.stock == 3);
	cr_assert_not(torn_rest(&roll, 51, &rest), "shorter than is kept");
	cr_assert(torn_rest(&roll, 0, &rest), "0: everything is kept");
	strips[1].height = 60;
	cr_assert_not(torn_rest(&roll, 0, &rest), "nothing is left");
}

Test(torn, a_flat_sheet_begun_the_other_way_is_turned_back)
{
	struct strip strip = {.at = 0, .height = 12};
	/* 22 across and 30 along; in the frame of its strips it is 30 wide and 22 long. */
	struct roll roll = {.quarter = true,
	    .width = 30,
	    .length = 22,
	    .strips = &strip,
	    .n_strips = 1};
	struct rest rest;

	cr_assert(torn_rest(&roll, 1, &rest));
	cr_assert(rest.width == 10 && rest.length == 30 && rest.quarter);
}
