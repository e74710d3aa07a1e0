/* SPDX-License-Identifier: MIT */
/*
 * The counter of bad keys and codes; its clock is an argument, so nothing waits.
 */
#include <criterion/criterion.h>

#include <stdio.h>

#include "failures.h"

Test(failures, the_sixty_first_of_a_minute_is_too_many)
{
	struct failures *f = failures_new(60);

	for (int i = 0; i < 60; i++)
		cr_assert_not(failures_count(f, "192.0.2.1", 100), "%d", i);
	cr_assert(failures_count(f, "192.0.2.1", 100));
	cr_assert(
	    failures_count(f, "192.0.2.1", 159), "the minute is not over");
	cr_assert_not(
	    failures_count(f, "192.0.2.2", 100), "another address has its own");
	cr_assert_not(failures_count(f, "192.0.2.1", 160), "a new minute");
	failures_delete(f);
}

Test(failures, an_ipv6_host_is_its_network)
{
	struct failures *f = failures_new(1);

	cr_assert_not(failures_count(f, "2001:db8:1:2::1", 0));
	cr_assert(failures_count(f, "2001:db8:1:2:ffff:ffff:ffff:ffff", 0),
	    "the same /64");
	cr_assert_not(failures_count(f, "2001:db8:1:3::1", 0), "another /64");
	cr_assert_not(failures_count(f, "192.0.2.7", 0));
	cr_assert(failures_count(f, "::ffff:192.0.2.7", 0),
	    "the same, written as IPv6");
	cr_assert_not(
	    failures_count(f, "::ffff:192.0.2.8", 0), "not the whole of IPv4");
	failures_delete(f);
}

Test(failures, a_flood_of_addresses_costs_no_memory_and_hides_nobody_new)
{
	struct failures *f = failures_new(2);
	char address[32];
	int refused = 0;

	for (int i = 0; i < 100000; i++) {
		snprintf(address, sizeof(address), "10.%d.%d.%d", i >> 16 & 255,
		    i >> 8 & 255, i & 255);
		refused += failures_count(f, address, 0);
	}
	cr_assert_eq(refused, 0, "each has failed once");
	cr_assert_not(failures_count(f, "192.0.2.1", 1));
	cr_assert_not(failures_count(f, "192.0.2.1", 1));
	cr_assert(failures_count(f, "192.0.2.1", 1), "and counting goes on");
	failures_delete(f);
}
