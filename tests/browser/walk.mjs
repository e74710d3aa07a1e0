// SPDX-License-Identifier: MIT
//
// The whole way of a workshop in a browser, by labels and buttons as a person goes: first key to
// last share.  walk.sh starts the daemon; here stands what people do and must see.
//
//     node walk.mjs ORIGIN OWNER_KEY_FILE PAGES_DIR on|off [SHOTS_DIR]
//
// on|off: scripts in the browser.  With them off everything must work the same.
import assert from 'node:assert/strict';
import fs from 'node:fs';
import http from 'node:http';
import { chromium } from 'playwright-core';
import { Looker, phone, wide } from './look.mjs';

const [origin, keyFile, pagesDir, scripts, shotsDir] = process.argv.slice(2);
const ownerKey = fs.readFileSync(keyFile, 'utf8').trim();
const looker = new Looker({ pages: pagesDir, shots: shotsDir, label: `script-${scripts}` });
const run = scripts === 'on' ? 'A' : 'B';
const paperName = `Cold press ${run} 300`;
const workshopName = `Three days by the water ${run}`;
const hostileName = `<b>Odd</b> "onx=1" & Co ${run}`;

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
  args: ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
    '--disable-background-networking', '--disable-component-update', '--disable-sync'],
});

async function person(viewport = wide) {
  const context = await browser.newContext({
    ignoreHTTPSErrors: true, javaScriptEnabled: scripts === 'on', viewport, locale: 'en-GB',
  });
  context.setDefaultTimeout(20000);
  context.scriptsOff = scripts === 'off';
  const page = await context.newPage();
  looker.watch(page);
  return page;
}

const go = (page, where) => page.goto(origin + where);
const press = (page, name) => page.getByRole('button', { name, exact: true }).click();
const follow = (page, name) => page.getByRole('link', { name, exact: true }).click();
const fill = (page, label, text) => page.getByLabel(label).first().fill(text);
const title = async (page, text) => assert.equal(await page.locator('h1').textContent(), text);
const see = async (page, text) => {
  const body = (await page.locator('main').textContent()).replace(/\s+/g, ' ');
  assert.ok(body.includes(text), `"${text}" is not on ${page.url()}:\n${body.slice(0, 1500)}`);
};
const said = async (page, text) =>
  assert.match((await page.getByRole('status').allTextContents()).join(' '), text);
const alerted = async (page, text) => assert.match(await page.getByRole('alert').textContent(), text);
const cookies = async (page) => (await page.context().cookies()).map((c) => c);

async function signIn(page, key) {
  await go(page, '/signin');
  await fill(page, 'Your key', key);
  await press(page, 'Sign in');
  await said(page, /signed in/);
}

/* ---- the owner sets up the studio ---- */

async function welcome(page) {
  await go(page, '/');
  await looker.look(page, 'welcome');
  await follow(page, 'Help');
  await title(page, 'Help');
  await looker.look(page, 'help');
  await go(page, '/no-such-page');
  await title(page, 'There is no such page');
  await looker.look(page, 'missing');
}

async function wrongKey(page) {
  await go(page, '/signin');
  await looker.look(page, 'signin');
  await fill(page, 'Your key', `tsk_${'A'.repeat(43)}`);
  await press(page, 'Sign in');
  await alerted(page, /This key opens nothing/);
  assert.equal(await page.getByLabel('Your key').getAttribute('aria-invalid'), 'true');
  await looker.look(page, 'signin-wrong');
}

async function cookieIsSafe(page) {
  const mine = (await cookies(page)).filter((c) => c.name === '__Host-studio');
  assert.equal(mine.length, 1);
  assert.equal(mine[0].secure, true);
  assert.equal(mine[0].httpOnly, true);
  assert.equal(mine[0].sameSite, 'Lax');
  assert.equal(mine[0].path, '/');
  assert.equal((await cookies(page)).length, 1, 'nothing else is stored');
}

async function setUpStudio(page) {
  await signIn(page, ownerKey);
  await cookieIsSafe(page);
  await looker.look(page, 'home-empty');
  await follow(page, 'Studio');
  await fill(page, 'Currency', 'USD');
  await fill(page, 'Time zone', 'America/New_York');
  await fill(page, 'Smallest step of the ruler', '1/3 in');
  await fill(page, 'Which side lies up', 'felt side up');
  await press(page, 'Save');
  await alerted(page, /1\/3/);
  assert.equal(await page.getByLabel('Smallest step of the ruler').inputValue(), '1/3 in');
  assert.equal(await page.getByLabel('Which side lies up').inputValue(), 'felt side up');
  await looker.look(page, 'studio-wrong');
  await page.getByLabel('Lengths are written in').selectOption({ label: 'inches: 12 1/2 in' });
  await fill(page, 'Smallest step of the ruler', '1/16 in');
  await fill(page, 'Roll-ends are kept from', '12 in');
  await press(page, 'Save');
  await said(page, /Saved/);
  await looker.look(page, 'studio');
}

async function notePaper(page) {
  await follow(page, 'Papers');
  await looker.look(page, 'papers-empty');
  await fill(page, 'Name of the paper', paperName);
  await fill(page, 'Weight', '300');
  await press(page, 'Note this paper');
  await title(page, paperName);
  await looker.look(page, 'paper-new');
  await fill(page, 'Name', '45 in roll');
  await fill(page, 'Width', '45 in');
  await fill(page, 'Length', '10 yd');
  await fill(page, 'Price in USD', '192.00');
  await press(page, 'Note it');
  await said(page, /Added/);
  await page.getByLabel('What it is').selectOption({ label: 'roll-end' });
  await fill(page, 'Name', 'end of March');
  await fill(page, 'Width', '45 in');
  await fill(page, 'Length', '1 yd');
  await fill(page, 'Price in USD', '0');
  await press(page, 'Note it');
  await alerted(page, /counted/);
  await looker.look(page, 'stock-wrong');
  await fill(page, 'How many there are', '1');
  await press(page, 'Note it');
  await said(page, /Added/);
  await see(page, 'end of March: roll-end, 45 × 36 in, 0.00 USD, 1 there');
  await looker.look(page, 'paper');
  await follow(page, 'end of March');
  await fill(page, 'Where it lies', 'shelf 2');
  await looker.look(page, 'stock');
  await press(page, 'Save');
  await said(page, /Saved/);
  await follow(page, 'Papers');
  await looker.look(page, 'papers');
}

async function addMember(page, name, role) {
  await follow(page, 'Members');
  await fill(page, 'Name', name);
  await page.getByLabel('student').uncheck();
  await page.getByLabel(role, { exact: true }).check();
  await press(page, 'Add');
  await title(page, name);
  await fill(page, 'Name of a new key', 'first key');
  await press(page, 'Make a key');
  const key = (await page.locator('code.secret').textContent()).trim();
  assert.match(key, /^tsk_[\w-]{43}$/);
  await looker.look(page, 'member-key');
  await follow(page, 'It is handed over');
  assert.ok(!(await page.content()).includes(key), 'a key is shown once');
  await looker.look(page, 'member');
  return key;
}

/* ---- the instructor makes the workshop ---- */

const twoDigits = (n) => String(n).padStart(2, '0');
function dayFromNow(days) {
  const d = new Date(Date.now() + days * 86400000);
  return `${d.getUTCFullYear()}-${twoDigits(d.getUTCMonth() + 1)}-${twoDigits(d.getUTCDate())}`;
}

async function makeWorkshop(page) {
  await follow(page, 'Make a workshop');
  await looker.look(page, 'workshop-new');
  await press(page, 'Make the workshop');
  await alerted(page, /name is missing/);
  await looker.look(page, 'workshop-new-wrong');
  await fill(page, 'Name', workshopName);
  await fill(page, 'Requests close at', `${dayFromNow(3)}T17:00`);
  await fill(page, 'First day', dayFromNow(8));
  await fill(page, 'Number of days', '3');
  await fill(page, 'Paper lies flat by', dayFromNow(7));
  await page.getByLabel(paperName).check();
  await press(page, 'Make the workshop');
  await said(page, /workshop is made/);
  await see(page, '17:00 (America/New_York)');
  await looker.look(page, 'workshop-made');
  await follow(page, 'Change the dates');
  assert.equal(await page.getByLabel('Requests close at').inputValue(), `${dayFromNow(3)}T17:00`);
  await looker.look(page, 'workshop-edit');
  await fill(page, 'Number of days', '4');
  await press(page, 'Save');
  await said(page, /Saved/);
  await see(page, '4 days');
}

async function invite(page) {
  await follow(page, 'Invitation');
  await press(page, 'Make an invitation');
  const [link, code] = await page.locator('code.secret').allTextContents();
  assert.ok(link.startsWith(`${origin}/join/`), link);
  assert.ok(await page.locator('figure svg[role=img]').isVisible(), 'the QR code is drawn');
  await looker.look(page, 'invitation');
  await follow(page, 'I have kept it');
  await see(page, '0 of 30');
  await looker.look(page, 'invite');
  return { link, code };
}

/* ---- members join and ask ---- */

async function join(page, link, name) {
  for (let i = 0; i < 3; i++) await page.goto(link);
  await see(page, workshopName);
  await looker.look(page, 'join');
  await press(page, 'Join');
  await alerted(page, /name is missing/);
  await fill(page, 'Your name', name);
  await fill(page, 'Mail address', 'reach@me.example');
  await press(page, 'Join');
  await said(page, /take part/);
  assert.match(new URL(page.url()).pathname, /^\/workshops\/\d+$/, 'a clean address after joining');
  await cookieIsSafe(page);
}

async function ask(page, { count, across, along, margin, turn }) {
  await fill(page, 'How many sheets', count);
  await fill(page, 'Across', across);
  await fill(page, 'Along', along);
  await fill(page, 'Tape margin', margin);
  if (turn) await page.getByLabel('either way').check();
}

async function askAndChange(page) {
  await looker.look(page, 'sheets-empty');
  await ask(page, { count: '10', across: '1/3 in', along: '12 in', margin: '1/4 in', turn: true });
  await press(page, 'Ask for these sheets');
  await alerted(page, /1\/3/);
  assert.equal(await page.getByLabel('Across').inputValue(), '1/3 in');
  assert.ok(await page.getByLabel('either way').isChecked(), 'the tick is kept');
  const by = await page.getByLabel('Across').getAttribute('aria-describedby');
  for (const id of by.split(' ')) assert.equal(await page.locator(`#${id}`).count(), 1);
  await looker.look(page, 'ask-wrong');
  await fill(page, 'Across', '9 in');
  await press(page, 'Show the torn size');
  await title(page, 'Look at the torn size');
  await see(page, '9 1/2 × 12 1/2 in');
  assert.ok(await page.locator('figure svg').isVisible());
  await looker.look(page, 'look');
  await press(page, 'Ask for these sheets');
  await said(page, /Asked for: 10 sheets of .*torn size 9 1\/2 × 12 1\/2 in/);
  await see(page, '10 sheets for 1 member');
  await looker.look(page, 'sheets');
  assert.equal(await page.getByLabel('Across').inputValue(), '9 in', 'the last size is offered again');

  await follow(page, 'Change');
  await fill(page, 'How many sheets', '8');
  await fill(page, 'Across', '9 1/50 in');
  await looker.look(page, 'request');
  await press(page, 'Save the change');
  await alerted(page, /1\/50/);
  await fill(page, 'Across', '228.7 mm');
  await press(page, 'Save the change');
  await said(page, /8 sheets.*next mark of the ruler/);
  await see(page, 'torn a little larger');
  await looker.look(page, 'sheets-snapped');

  await follow(page, 'Withdraw');
  await looker.look(page, 'withdraw');
  await follow(page, 'Keep it');
  await see(page, '8 sheets');
  await follow(page, 'Withdraw');
  await press(page, 'Withdraw');
  await said(page, /withdrawn/);
  await see(page, 'Nothing yet.');
  await ask(page, { count: '10', across: '9 in', along: '12 in', margin: '1/4 in', turn: true });
  await press(page, 'Ask for these sheets');
  await said(page, /Asked for: 10/);
}

async function tooWide(page) {
  await ask(page, { count: '1', across: '50 in', along: '60 in', margin: '0 in' });
  await press(page, 'Ask for these sheets');
  await alerted(page, /45 in/);
  await ask(page, { count: '0', across: '10 in', along: '10 in', margin: '0 in' });
  await press(page, 'Ask for these sheets');
  await alerted(page, /count 0 is too small/i);
  await page.goto(page.url());
}

/* The same form twice asks once: the second gets the first answer again. */
async function twice(page) {
  const form = await page.locator('main form').last().evaluate((f) => Object.fromEntries(new FormData(f)));
  Object.assign(form, { count: '3', across: '7 in', along: '5 in', margin: '1/4 in', turn: 'yes' });
  const send = () => page.context().request.post(page.url(), { form, maxRedirects: 0 });
  const [first, second] = [await send(), await send()];
  assert.equal(first.status(), 303);
  assert.equal(second.status(), 303);
  assert.equal(first.headers().location, second.headers().location);
  const other = await page.context().request.post(page.url(), { form: { ...form, count: '4' }, maxRedirects: 0 });
  assert.equal(other.status(), 422, 'the key of one form is no good for another');
  await page.goto(origin + first.headers().location);
  await said(page, /Asked for: 3/);
  assert.equal(await page.getByRole('heading', { name: /^3 sheets of/ }).count(), 1);
}

async function ownKey(page) {
  await follow(page, 'You');
  await looker.look(page, 'me');
  await fill(page, 'Name of a new key', 'phone');
  await press(page, 'Make a key');
  const key = (await page.locator('code.secret').textContent()).trim();
  await looker.look(page, 'key');
  await follow(page, 'I have kept it');
  await follow(page, 'Revoke the key "phone"');
  await looker.look(page, 'key-revoke');
  await follow(page, 'Keep it');
  return key;
}

/* ---- sessions ---- */

/* A form posted after its session had ended is kept, and offered after signing in. */
async function endedSession(page, key) {
  const other = await person();
  await signIn(other, key);
  await follow(page, 'Workshops');
  await page.getByRole('link', { name: workshopName }).click();
  await ask(page, { count: '2', across: '8 in', along: '10 in', margin: '0 in', turn: true });
  await follow(other, 'You');
  await press(other, 'End all others');
  await said(other, /ended/);
  await press(page, 'Ask for these sheets');
  await title(page, 'Sign in');
  await said(page, /Nothing that you typed is lost/);
  await looker.look(page, 'signin-kept');
  await fill(page, 'Your key', key);
  await press(page, 'Sign in');
  await title(page, 'You are signed in again');
  await looker.look(page, 'kept');
  await press(page, 'Send it now');
  await said(page, /Asked for: 2 sheets/);
  await other.context().close();
}

async function signOut(page, key) {
  const before = await cookies(page);
  const where = page.url();
  await press(page, 'Sign out');
  await said(page, /signed out/);
  assert.equal((await cookies(page)).length, 0);
  await page.context().addCookies(before);
  const answer = await page.goto(where);
  assert.equal(answer.status(), 401, 'the old cookie is dead');
  await looker.look(page, 'signin-needed');
  await page.context().clearCookies();
  await signIn(page, key);
}

/* A page of another site: its form is refused, its link finds the member signed in. */
async function otherSite(page) {
  const target = page.url();
  const server = http.createServer((request, response) => {
    response.setHeader('Content-Type', 'text/html');
    response.end(`<form method="post" action="${target}"><input name="count" value="9"><button>go</button></form>
      <a href="${target}">there</a>`);
  });
  await new Promise((done) => server.listen(0, '127.0.0.1', done));
  const elsewhere = `http://127.0.0.1:${server.address().port}/`;
  await page.goto(elsewhere);
  const [answer] = await Promise.all([page.waitForNavigation(), page.getByRole('button', { name: 'go' }).click()]);
  assert.equal(answer.status(), 403);
  await title(page, 'This is not yours to do');
  await looker.look(page, 'refused');
  await page.goto(elsewhere);
  await page.getByRole('link', { name: 'there' }).click();
  await title(page, 'Sheets');
  server.close();
}

/* What is not a form of ours: no token, a file. */
async function notOurForm(page) {
  const request = page.context().request;
  const bare = await request.post(page.url(), { form: { count: '1' }, maxRedirects: 0 });
  assert.equal(bare.status(), 403, 'a form without the token');
  const file = await request.post(page.url(), { multipart: { count: '1' }, maxRedirects: 0 });
  assert.equal(file.status(), 415, 'multipart');
  const doubled = await request.post(page.url(), {
    headers: { 'Content-Type': 'application/x-www-form-urlencoded' }, data: 'count=1&count=2', maxRedirects: 0,
  });
  assert.equal(doubled.status(), 400, 'a field twice');
  const away = await request.get(`${origin}/signin?to=//evil.example`);
  assert.ok(!(await away.text()).includes('evil.example'));
}

/* ---- closing, planning, tearing ---- */

async function closeAndPlan(page) {
  await follow(page, 'All requests');
  await see(page, hostileName);
  await looker.look(page, 'requests');
  await follow(page, 'Plan');
  await looker.look(page, 'plan-open');
  await follow(page, 'Sheets');
  await follow(page, 'Close for requests');
  await looker.look(page, 'close');
  await follow(page, 'Leave it open');
  await follow(page, 'Close for requests');
  await press(page, 'Close it');
  await said(page, /closed/);
  await press(page, 'Make the plan');
  const plan = new URL(page.url());
  const isWorking = () => page.locator('.state', { hasText: 'working' }).count();
  await page.goto(plan.origin + plan.pathname);
  if (await isWorking()) await looker.look(page, 'plan-begun');
  for (const until = Date.now() + 180000; await isWorking(); await page.goto(plan.origin + plan.pathname))
    assert.ok(Date.now() < until, 'the plan is never ready');
  await see(page, 'Fresh rolls');
  await looker.look(page, 'plan-ready');
  await press(page, 'Accept this plan');
  await said(page, /accepted/);
  await looker.look(page, 'plan-accepted');
}

async function pictureAndSheet(page) {
  await follow(page, 'See it as a picture');
  assert.ok(await page.locator('.drawing.roll svg').count() > 0, 'a roll is drawn');
  await see(page, 'The same in words');
  const words = await page.locator('details').allTextContents();
  const torn = words.join(' ').match(/9 1\/2 × 12 1\/2 in|12 1\/2 × 9 1\/2 in/g) ?? [];
  assert.equal(torn.length, 10, 'each sheet asked for is in the list once, lying either way');
  await looker.look(page, 'picture');
  await follow(page, 'Back to the plan');
  await follow(page, 'The tear sheet');
  await looker.look(page, 'sheet');
  for (const [name, type] of [['PDF, A4', 'application/pdf'], ['PDF, Letter', 'application/pdf'], ['Plain text', 'text/plain']]) {
    const href = await page.getByRole('link', { name, exact: true }).getAttribute('href');
    const file = await page.context().request.get(origin + href);
    assert.equal(file.status(), 200, name);
    assert.ok(file.headers()['content-type'].startsWith(type), name);
    const body = await file.body();
    assert.ok(type === 'text/plain' ? body.length > 200 : body.subarray(0, 5).toString() === '%PDF-', name);
  }
}

/* ---- money ---- */

const cents = (text) => Number(text.replace(/[^\d-]/g, ''));

async function invoice(page) {
  await page.getByRole('link', { name: workshopName }).click();
  await follow(page, 'Money');
  await looker.look(page, 'money');
  await fill(page, paperName, '201.17x');
  await press(page, 'Show the shares first');
  await alerted(page, /201\.17x/);
  await looker.look(page, 'invoice-wrong');
  await fill(page, paperName, '201.17');
  await press(page, 'Show the shares first');
  await title(page, 'Charge these shares?');
  await looker.look(page, 'invoice-look');
  await press(page, 'Charge these shares');
  await said(page, /invoice is split/);
  const charged = await page.locator('table').first().locator('tbody tr td:nth-child(4)').allTextContents();
  assert.equal(charged.map(cents).reduce((a, b) => a + b, 0), 20117, 'charges add up to the invoice');
  await looker.look(page, 'money-invoiced');
}

async function payment(page, who) {
  const label = await page.getByLabel('Who has paid').locator('option', { hasText: who }).textContent();
  await page.getByLabel('Who has paid').selectOption({ label });
  await fill(page, 'Amount in USD', '20.00');
  await fill(page, 'How', 'transfer');
  await fill(page, 'Paid on', dayFromNow(0));
  await press(page, 'Look at it first');
  await title(page, 'Book this payment?');
  await looker.look(page, 'pay-look');
  await press(page, 'Book it');
  await said(page, /booked/);
  await see(page, 'Ledger of this workshop');
  await page.getByRole('link', { name: /^Reverse payment/ }).click();
  await fill(page, 'Why', 'booked for the wrong member');
  await looker.look(page, 'reverse');
  await press(page, 'Reverse it');
  await said(page, /reversed/);
  await looker.look(page, 'money-ledger');
}

async function share(page) {
  await follow(page, 'Workshops');
  await page.getByRole('link', { name: workshopName }).click();
  await looker.look(page, 'sheets-planned');
  assert.equal(await page.getByRole('button', { name: 'Ask for these sheets' }).count(), 0);
  await follow(page, 'Your share');
  await see(page, '201.17 USD');
  const line = (await page.locator('ul.number li').first().textContent()).replace(/\s+/g, ' ');
  const parts = line.match(/([\d.]+) USD × ([\d.]+) sq in ÷ ([\d.]+) sq in = ([\d.]+), ([\d.]+) USD/);
  assert.ok(parts, line);
  const exact = (Number(parts[1]) * Number(parts[2])) / Number(parts[3]);
  assert.ok(Math.abs(exact - Number(parts[4])) < 0.001, `${exact} is not ${parts[4]}`);
  assert.ok(Math.abs(exact - Number(parts[5])) < 0.01, `${exact} is not near ${parts[5]}`);
  await looker.look(page, 'share');
}

async function torn(page) {
  await follow(page, 'Workshops');
  await page.getByRole('link', { name: workshopName }).click();
  await follow(page, 'Open it again');
  await looker.look(page, 'reopen');
  await follow(page, 'Leave it closed');
  await follow(page, 'The paper is torn');
  await looker.look(page, 'torn');
  await press(page, 'Yes, it is torn');
  await said(page, /torn/);
  await looker.look(page, 'workshop-torn');
}

/* ---- who may see what ---- */

async function rights(page) {
  const workshop = new URL(page.url()).pathname.match(/^\/workshops\/\d+/)[0];
  for (const [where, status] of [[`${workshop}/requests`, 403], [`${workshop}/money`, 403], ['/studio', 403],
    ['/members', 403], ['/workshops/999999', 404], ['/requests/999999', 404]])
    assert.equal((await page.goto(origin + where)).status(), status, where);
  await page.goto(origin + workshop);
}

/* ---- the way ---- */

/* Something that never answers must not hold up everybody else. */
setTimeout(() => {
  console.log('FAIL the walk takes longer than nine minutes');
  process.exit(1);
}, 9 * 60 * 1000).unref();

const step = async (name, fn) => {
  try {
    const result = await fn();
    console.log(`ok   ${name}`);
    return result;
  } catch (error) {
    console.log(`FAIL ${name}`);
    throw error;
  }
};

try {
  const owner = await person();
  await step('a stranger is welcomed', () => welcome(owner));
  await step('a wrong key opens nothing', () => wrongKey(owner));
  await step('the owner sets up the studio', () => setUpStudio(owner));
  await step('a paper and what it is torn from', () => notePaper(owner));
  const keys = await step('an instructor and a treasurer', async () => ({
    instructor: await addMember(owner, `Instructor ${run}`, 'instructor'),
    treasurer: await addMember(owner, `Treasurer ${run}`, 'treasurer'),
  }));
  await follow(owner, 'Members');
  await looker.look(owner, 'members');

  const instructor = await person();
  await signIn(instructor, keys.instructor);
  await step('the instructor makes a workshop', () => makeWorkshop(instructor));
  const invitation = await step('and an invitation', () => invite(instructor));

  const member = await person(phone);
  await step('a member joins by the link', () => join(member, invitation.link, `Anemone ${run}`));
  await step('asks, changes, withdraws, asks again', () => askAndChange(member));
  await step('is told what cannot be', () => tooWide(member));
  await step('the same form twice asks once', () => twice(member));
  await step('what is not our form is refused', () => notOurForm(member));
  await step('another site cannot act, and can link', () => otherSite(member));
  await step('a student sees no more than that', () => rights(member));
  const key = await step('makes a key of their own', () => ownKey(member));
  await step('a session that ended loses nothing', () => endedSession(member, key));
  await step('signing out kills the cookie', () => signOut(member, key));

  const second = await person(phone);
  await step('another joins by the code', async () => {
    await go(second, '/join');
    await looker.look(second, 'join-code');
    await fill(second, 'Code of the invitation', invitation.code.toLowerCase().replace(/-/g, ' '));
    await press(second, 'Go on');
    await fill(second, 'Your name', hostileName);
    await press(second, 'Join');
    await said(second, /take part/);
    await ask(second, { count: '4', across: '11 in', along: '15 in', margin: '0 in' });
    await press(second, 'Ask for these sheets');
    await see(second, 'for 2 members');
    await looker.look(second, 'sheets-second');
  });

  await step('the instructor closes and plans', async () => {
    await follow(instructor, 'Workshops');
    await looker.look(instructor, 'home');
    await instructor.getByRole('link', { name: workshopName }).click();
    await closeAndPlan(instructor);
  });
  await step('sees the plan and prints the tear sheet', () => pictureAndSheet(instructor));

  const treasurer = await person();
  await signIn(treasurer, keys.treasurer);
  await step('the treasurer enters the invoice', () => invoice(treasurer));
  await step('books and reverses a payment', () => payment(treasurer, `Anemone ${run}`));
  await step('the member sees the share', () => share(member));
  await step('the instructor notes the tearing', () => torn(instructor));

  looker.end();
  console.log(`ok   ${looker.looked.size} pages, scripts ${scripts}`);
} finally {
  await browser.close();
}
