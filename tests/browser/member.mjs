// SPDX-License-Identifier: MIT
//
// What members do: join, ask, change their mind, sign in and out; and what others cannot make them do.
import assert from 'node:assert/strict';
import http from 'node:http';
import { origin, looker, workshopName, person, go, press, follow, fill, title, see, said, alerted,
  cookies, signIn, cookieIsSafe } from './people.mjs';

export async function join(page, link, name) {
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

export async function ask(page, { count, across, along, margin, turn }) {
  await fill(page, 'How many sheets', count);
  await fill(page, 'Across', across);
  await fill(page, 'Along', along);
  await fill(page, 'Tape margin', margin);
  if (turn) await page.getByLabel('either way').check();
}

export async function askAndChange(page) {
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

export async function tooWide(page) {
  await ask(page, { count: '1', across: '50 in', along: '60 in', margin: '0 in' });
  await press(page, 'Ask for these sheets');
  await alerted(page, /45 in/);
  await ask(page, { count: '0', across: '10 in', along: '10 in', margin: '0 in' });
  await press(page, 'Ask for these sheets');
  await alerted(page, /count 0 is too small/i);
  await page.goto(page.url());
}

/* The same form twice asks once: the second gets the first answer again. */
export async function twice(page) {
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

export async function ownKey(page) {
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
export async function endedSession(page, key) {
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

export async function signOut(page, key) {
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
export async function otherSite(page) {
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
export async function notOurForm(page) {
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

/* ---- who may see what ---- */

export async function rights(page) {
  const workshop = new URL(page.url()).pathname.match(/^\/workshops\/\d+/)[0];
  for (const [where, status] of [[`${workshop}/requests`, 403], [`${workshop}/money`, 403], ['/studio', 403],
    ['/members', 403], ['/workshops/999999', 404], ['/requests/999999', 404]])
    assert.equal((await page.goto(origin + where)).status(), status, where);
  await page.goto(origin + workshop);
}
