#!/usr/bin/env node
// SPDX-License-Identifier: MIT
// The table of locales against ICU's (Unicode CLDR), which node carries.
import { execFileSync } from 'node:child_process';
import assert from 'node:assert';

const lines = execFileSync(`${process.env.BUILD_DIR}/print_figures`, { encoding: 'utf8' }).trim().split('\n');
assert(lines.length >= 200, `only ${lines.length} lines`);
for (const line of lines) {
	const [locale, plain, ours] = line.split('\t');
	assert.deepEqual(Intl.NumberFormat.supportedLocalesOf([locale]), [locale], `${locale} is not known to ICU`);
	const decimals = plain.includes('.') ? plain.length - plain.indexOf('.') - 1 : 0;
	const format = new Intl.NumberFormat(locale, {
		numberingSystem: 'latn',
		minimumFractionDigits: decimals,
		maximumFractionDigits: decimals,
	});
	// whole and fraction apart: a double would not hold the largest
	const parts = format.formatToParts(BigInt(plain.split('.')[0]));
	const point = new Intl.NumberFormat(locale, { numberingSystem: 'latn' }).formatToParts(0.5).find((p) => p.type === 'decimal').value;
	const whole = parts.filter((p) => p.type === 'integer' || p.type === 'group').map((p) => p.value).join('');
	// whether four digits are grouped already, CLDR has told differently from version to version
	const plainly = (text) => text.replaceAll('’', "'");
	const group = plainly(format.formatToParts(1234567n).find((p) => p.type === 'group').value);
	const told = (text) => (/^\d{4}(\.|$)/.test(plain) ? plainly(text).replace(group, '') : plainly(text));
	const wanted = whole + (decimals ? point + plain.split('.')[1] : '');
	assert.equal(told(ours), told(wanted), `${locale} ${plain}`);
}
console.log(`${lines.length} figures agree with ICU ${process.versions.icu}`);
