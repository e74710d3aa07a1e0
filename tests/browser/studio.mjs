// SPDX-License-Identifier: MIT
//
// What those do who run the studio: the owner, the instructor, the treasurer.
import assert from 'node:assert/strict';
import { origin, ownerKey, looker, run, paperName, workshopName, hostileName, go, press, follow,
  fill, title, see, said, alerted, signIn, cookieIsSafe } from './people.mjs';

export async function welcome(page) {
  await go(page, '/');
  await looker.look(page, 'welcome');
  await follow(page, 'Help');
  await title(page, 'Help');
  await looker.look(page, 'help');
  await go(page, '/no-such-page');
  await title(page, 'There is no such page');
  await looker.look(page, 'missing');
}

export async function wrongKey(page) {
  await go(page, '/signin');
  await looker.look(page, 'signin');
  await fill(page, 'Your key', `tsk_${'A'.repeat(43)}`);
  await press(page, 'Sign in');
  await alerted(page, /This key opens nothing/);
  assert.equal(await page.getByLabel('Your key').getAttribute('aria-invalid'), 'true');
  await looker.look(page, 'signin-wrong');
}

export async function setUpStudio(page) {
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
  await fill(page, 'Roll-ends and offcuts are kept from', '12 in');
  await press(page, 'Save');
  await said(page, /Saved/);
  await looker.look(page, 'studio');
}

export async function notePaper(page) {
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

export async function addMember(page, name, role) {
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

export async function makeWorkshop(page) {
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

export async function invite(page) {
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

/* ---- closing, planning, tearing ---- */

export async function closeAndPlan(page) {
  await follow(page, 'All requests');
  await see(page, hostileName);
  await page.getByLabel('Another member of the studio').selectOption({ label: `Instructor ${run}` });
  await press(page, 'Let them take part');
  await said(page, /takes part/);
  await see(page, 'Who takes part: 3 members');
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

export async function pictureAndSheet(page) {
  await follow(page, 'See it as a picture');
  assert.ok(await page.locator('.drawing.roll svg').count() > 0, 'a roll is drawn');
  await see(page, 'The same in words');
  const words = await page.locator('details').allTextContents();
  const torn = [...words.join(' ').matchAll(/(?:9 1\/2 × 12 1\/2|12 1\/2 × 9 1\/2) in(?: \((\d+) times\))?/g)]
    .reduce((sum, [, times]) => sum + Number(times ?? 1), 0);
  assert.equal(torn, 10, 'each sheet asked for is in the list once, lying either way');
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

export async function invoice(page) {
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

export async function payment(page, who) {
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

/* An invoice line by line, entered wrong, entered right, withdrawn; and something put right. */
export async function books(page) {
  await follow(page, 'Invoices, line by line');
  await looker.look(page, 'invoices');
  const row = page.getByRole('group', { name: 'Line 2' });
  await fill(page, 'Number', 'C-17');
  await fill(page, 'Total in USD', '12.60');
  await row.getByLabel('Kind').selectOption('shipping');
  await row.getByLabel(/^Amount/).fill('12.50x');
  await press(page, 'Enter the invoice');
  await alerted(page, /12\.50x/);
  await looker.look(page, 'invoices-wrong');
  await row.getByLabel(/^Amount/).fill('12.50');
  await press(page, 'Enter the invoice');
  await alerted(page, /12\.50 USD.*12\.60 USD/);
  await fill(page, 'Total in USD', '12.50');
  await press(page, 'Enter the invoice');
  await said(page, /Nobody is charged yet/);
  await looker.look(page, 'invoices-two');
  await page.getByRole('link', { name: /^Withdraw invoice/ }).last().click();
  await looker.look(page, 'invoice-withdraw');
  await fill(page, 'Why', 'of another class');
  await press(page, 'Withdraw it');
  await said(page, /withdrawn/);
  await follow(page, 'Back to the shares');
  await follow(page, 'Give back, put right, carry on');
  await looker.look(page, 'bookings');
  await page.getByLabel('What').selectOption('correction-less');
  await fill(page, 'Amount in USD', '0.10');
  await press(page, 'Book it');
  await alerted(page, /reason/);
  await looker.look(page, 'bookings-wrong');
  await fill(page, 'Why', 'a stained sheet');
  await press(page, 'Book it');
  await said(page, /booked/);
  await follow(page, 'Money');
  await page.getByRole('link', { name: /^Anemone/ }).first().click();
  await see(page, '201.17 USD');
  await looker.look(page, 'statement');
  await follow(page, 'Money');
  await follow(page, 'The account');
  await looker.look(page, 'account');
  await follow(page, 'Money');
  await follow(page, 'Who still owes');
  await looker.look(page, 'reminders');
}

export async function share(page) {
  await follow(page, 'Workshops');
  await page.getByRole('link', { name: workshopName }).click();
  await looker.look(page, 'sheets-planned');
  assert.equal(await page.getByRole('button', { name: 'Ask for these sheets' }).count(), 0);
  await follow(page, 'Your share');
  await see(page, '201.17 USD');
  const row = page.locator('tbody tr').filter({ hasText: 'Your part:' }).first();
  const line = (await row.textContent()).replace(/\s+/g, ' ');
  const parts = line.match(/Your part: ([\d.,]+) USD x ~?([\d.,]+) sq in \/ ~?([\d.,]+) sq in = ([\d,]+\.\d+)/);
  assert.ok(parts, line);
  const [cost, own, all, told] = parts.slice(1).map((figure) => Number(figure.replaceAll(',', '')));
  const paid = Number((await row.locator('td').last().textContent()).replace(/[^\d.]/g, ''));
  const exact = (cost * own) / all;
  assert.ok(Math.abs(exact - told) < 0.001, `${exact} is not ${told}`);
  assert.ok(Math.abs(exact - paid) < 0.01, `${exact} is not near ${paid}`);
  await looker.look(page, 'share');
}

export async function torn(page) {
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
