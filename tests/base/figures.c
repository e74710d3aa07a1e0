/* SPDX-License-Identifier: MIT */
/* Every locale of the table with some amounts, one a line, for figures.mjs. */
#include "figures.h"

#include <stdio.h>

int main(void)
{
	static const char *const plain[] = {"0", "7.50", "123.45", "999.99",
	    "1000", "1234.50", "12345.678", "123456.7", "1234567.00",
	    "12345678.9012", "9876543210.01", "92233720368547758.07"};
	char buf[FIGURES_MAX];

	for (size_t i = 0; figures_locale(i) != NULL; i++)
		for (size_t k = 0; k < sizeof(plain) / sizeof(plain[0]); k++)
			printf("%s\t%s\t%s\n", figures_locale(i), plain[k],
			    figures_write(buf, plain[k], figures_locale(i)));
	return 0;
}
