// SPDX-License-Identifier: MIT
//
// A person before a browser: what one sees, presses, follows and fills in, by the words on the page.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import { chromium } from 'playwright-core';
import { Looker, wide } from './look.mjs';

export const [origin, keyFile, pagesDir, scripts, shotsDir] = process.argv.slice(2);
export const ownerKey = fs.readFileSync(keyFile, 'utf8').trim();
export const looker = new Looker({ pages: pagesDir, shots: shotsDir, label: `script-${scripts}` });
export const run = scripts === 'on' ? 'A' : 'B';
export const paperName = `Cold press ${run} 300`;
export const workshopName = `Three days by the water ${run}`;
export const hostileName = `<b>Odd</b> "onx=1" & Co ${run}`;

export const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
  args: ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
    '--disable-background-networking', '--disable-component-update', '--disable-sync'],
});

export async function person(viewport = wide) {
  const context = await browser.newContext({
    ignoreHTTPSErrors: true, javaScriptEnabled: scripts === 'on', viewport, locale: 'en-GB',
  });
  context.setDefaultTimeout(20000);
  context.scriptsOff = scripts === 'off';
  const page = await context.newPage();
  looker.watch(page);
  return page;
}

export const go = (page, where) => page.goto(origin + where);
/* A click ends when the next page has begun; what stands on it may still be on its way. */
const arrived = async (page, click) => {
  await click;
  await page.waitForLoadState('domcontentloaded');
};
const until = async (page, read, wanted, limitMs = 20000) => {
  const giveUp = Date.now() + limitMs;
  for (;;) {
    const text = await read();
    if (wanted(text) || Date.now() > giveUp) return text;
    await page.waitForTimeout(50);
  }
};
const plain = (text) => text.replace(/\s+/g, ' ');
export const press = (page, name) =>
  arrived(page, page.getByRole('button', { name, exact: true }).click());
export const follow = (page, name) => arrived(page, page.getByRole('link', { name, exact: true }).click());
export const fill = (page, label, text) => page.getByLabel(label).first().fill(text);
export const title = async (page, text) =>
  assert.equal(await until(page, () => page.locator('h1').textContent(), (h1) => h1 === text), text);
export const see = async (page, text) => {
  const read = async () => plain(await page.locator('main').textContent());
  const body = await until(page, read, (main) => main.includes(text));
  assert.ok(body.includes(text), `"${text}" is not on ${page.url()}:\n${body.slice(0, 1500)}`);
};
export const said = async (page, text) => {
  const read = async () => (await page.getByRole('status').allTextContents()).join(' ');
  assert.match(await until(page, read, (status) => text.test(status)), text);
};
export const alerted = async (page, text) =>
  assert.match(await until(page, () => page.getByRole('alert').textContent(), (alert) => text.test(alert)), text);
export const cookies = async (page) => (await page.context().cookies()).map((c) => c);

export async function signIn(page, key) {
  await go(page, '/signin');
  await fill(page, 'Your key', key);
  await press(page, 'Sign in');
  await said(page, /signed in/);
}

export async function cookieIsSafe(page) {
  const mine = (await cookies(page)).filter((c) => c.name === '__Host-studio');
  assert.equal(mine.length, 1);
  assert.equal(mine[0].secure, true);
  assert.equal(mine[0].httpOnly, true);
  assert.equal(mine[0].sameSite, 'Lax');
  assert.equal(mine[0].path, '/');
  assert.equal((await cookies(page)).length, 1, 'nothing else is stored');
}
