// SPDX-License-Identifier: MIT
//
// What must hold on every page, looked at in the browser itself.
//
// Names of criteria are those of WCAG 2.2.  axe-core knows a part of them; the others are measured
// here: reflow at 320 px (1.4.10), targets (2.5.8, and 44 px for our buttons), text spacing
// (1.4.12), focus that is seen and in view (2.4.7, 2.4.11).
import assert from 'node:assert/strict';
import fs from 'node:fs';
import path from 'node:path';
import { createRequire } from 'node:module';

const require = createRequire(import.meta.url);
const axeSource = fs.readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

export const narrow = { width: 320, height: 640 };
export const phone = { width: 390, height: 844 };
export const wide = { width: 1280, height: 900 };

/* ---- measured in the page ---- */

async function sidewaysScroll(page) {
  return page.evaluate(() => {
    const root = document.scrollingElement;
    if (root.scrollWidth <= root.clientWidth) return [];
    const wide = [...document.body.querySelectorAll('*')].filter((e) =>
      e.getBoundingClientRect().right > root.clientWidth + 1 && !e.closest('.scroll, .drawing'));
    return wide.slice(0, 5).map((e) => `${e.tagName}.${e.className} ${e.textContent.slice(0, 40)}`)
      .concat(`page ${root.scrollWidth} > ${root.clientWidth}`);
  });
}

/* A link inside a sentence is exempt from 2.5.8 ("inline"); everything else is not. */
async function smallTargets(page) {
  return page.evaluate(() => {
    const found = [];
    for (const e of document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary')) {
      const box = e.getBoundingClientRect();
      if (box.width === 0 || e.classList.contains('skip')) continue;
      const inline = e.tagName === 'A' && getComputedStyle(e).display === 'inline';
      const isButton = e.tagName === 'BUTTON' || e.classList.contains('button');
      const least = isButton ? 44 : 24;
      if (!inline && (box.height < least - 0.5 || box.width < least - 0.5))
        found.push(`${e.tagName} "${(e.textContent || e.name).trim().slice(0, 30)}" ${box.width} x ${box.height}`);
    }
    return found;
  });
}

/* The values of 1.4.12 through the CSSOM, which a content security policy does not forbid. */
async function cutByTextSpacing(page) {
  return page.evaluate(() => {
    const all = [...document.body.querySelectorAll('*')];
    const before = all.map((e) => e.getAttribute('style'));
    for (const e of all) {
      e.style.setProperty('line-height', '1.5', 'important');
      e.style.setProperty('letter-spacing', '0.12em', 'important');
      e.style.setProperty('word-spacing', '0.16em', 'important');
      if (e.tagName === 'P') e.style.setProperty('margin-bottom', '2em', 'important');
    }
    const root = document.scrollingElement;
    const found = all.filter((e) => {
      const style = getComputedStyle(e);
      const hides = style.overflowX === 'hidden' || style.overflowY === 'hidden' || style.textOverflow === 'ellipsis';
      return hides && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1);
    }).map((e) => `${e.tagName}.${e.className}`);
    if (root.scrollWidth > root.clientWidth) found.push(`page ${root.scrollWidth} > ${root.clientWidth}`);
    all.forEach((e, i) => (before[i] === null ? e.removeAttribute('style') : e.setAttribute('style', before[i])));
    return found;
  });
}

/* Text at twice its size (1.4.4), in a window that stays as wide. */
async function sidewaysAtDoubleText(page) {
  await page.evaluate(() => document.documentElement.style.setProperty('font-size', '225%'));
  const found = await sidewaysScroll(page);
  await page.evaluate(() => document.documentElement.removeAttribute('style'));
  return found;
}

/* Tab from the top to the end: what has the focus is in view and has an outline. */
async function lostFocus(page) {
  const found = [];
  await page.evaluate(() => { document.activeElement?.blur(); window.scrollTo(0, 0); });
  const count = await page.evaluate(() =>
    document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex="0"]').length);
  for (let i = 0; i < count; i++) {
    await page.keyboard.press('Tab');
    const state = await page.evaluate(() => {
      const e = document.activeElement;
      if (!e || e === document.body) return null;
      const box = e.getBoundingClientRect();
      const style = getComputedStyle(e);
      return {
        what: `${e.tagName} ${(e.textContent || e.name || '').trim().slice(0, 30)}`,
        inView: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
        outlined: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2,
      };
    });
    if (state === null) break;
    if (!state.inView) found.push(`${state.what}: not in view`);
    if (!state.outlined) found.push(`${state.what}: no outline`);
  }
  await page.evaluate(() => { document.activeElement?.blur(); window.scrollTo(0, 0); });
  return found;
}

/* axe waits for timers, which do not run in a browser without scripts: there the page is the same. */
async function axeFindings(page) {
  if (page.context().scriptsOff) return [];
  await page.evaluate(axeSource);
  const result = await page.evaluate(() => globalThis.axe.run(document, {
    runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
  }));
  return result.violations.map((v) =>
    `${v.id}: ${v.help}\n    ${v.nodes.slice(0, 3).map((n) => `${n.html.slice(0, 160)}\n      ${n.failureSummary}`).join('\n    ')}`);
}

/* ---- the looker ---- */

export class Looker {
  constructor({ pages, shots, label }) {
    this.pages = pages;
    this.shots = shots;
    this.label = label;
    this.problems = [];
    this.looked = new Set();
    fs.mkdirSync(pages, { recursive: true });
    if (shots) fs.mkdirSync(shots, { recursive: true });
  }

  /* Remember what the server sent (not what the browser made of it) and what the browser refused. */
  watch(page) {
    page.on('console', (message) => {
      if (/content security policy|refused to/i.test(message.text()))
        this.problems.push(`${page.url()}: ${message.text()}`);
    });
    page.on('pageerror', (error) => this.problems.push(`${page.url()}: ${error}`));
    page.on('response', async (response) => {
      if (response.request().resourceType() !== 'document' || response.status() >= 300 && response.status() < 400) return;
      page.lastHtml = response.text().catch(() => null);
      page.lastHead = response.headers();
    });
  }

  note(name, what, found) {
    for (const line of found) this.problems.push(`${name}: ${what}: ${line}`);
  }

  headers(name, head) {
    const wanted = [
      ['content-security-policy', /default-src 'none'.*frame-ancestors 'none'/],
      ['x-content-type-options', /^nosniff$/],
      ['referrer-policy', /^no-referrer$/],
      ['cross-origin-opener-policy', /^same-origin$/],
      ['cross-origin-resource-policy', /^same-origin$/],
      ['strict-transport-security', /max-age=31536000/],
      ['cache-control', /no-store/],
      ['content-type', /^text\/html; charset=utf-8$/],
    ];
    for (const [field, value] of wanted)
      if (!value.test(head?.[field] ?? '')) this.problems.push(`${name}: ${field} is ${head?.[field]}`);
    if (/unsafe-/.test(head?.['content-security-policy'] ?? '')) this.problems.push(`${name}: unsafe policy`);
  }

  async save(page, name) {
    const html = await page.lastHtml;
    if (html) fs.writeFileSync(path.join(this.pages, `${this.label}-${name}.html`), html);
  }

  async shoot(page, name, size) {
    if (!this.shots) return;
    await page.setViewportSize(size);
    await page.screenshot({ path: path.join(this.shots, `${this.label}-${name}-${size.width}.png`), fullPage: true });
  }

  /* As others see it: in the dark, in colours of their own, on paper. */
  async shootOthers(page, name) {
    const usual = { colorScheme: 'light', forcedColors: 'none', media: 'screen' };
    const others = { dark: { colorScheme: 'dark' }, forced: { forcedColors: 'active' }, print: { media: 'print' } };
    if (!this.shots) return;
    for (const [other, how] of Object.entries(others)) {
      await page.emulateMedia({ ...usual, ...how });
      await this.shoot(page, `${name}-${other}`, phone);
    }
    await page.emulateMedia(usual);
  }

  /* Look at the page as it is now; each name is looked at once. */
  async look(page, name) {
    if (this.looked.has(name)) return;
    this.looked.add(name);
    const before = page.viewportSize();
    await this.save(page, name);
    this.headers(name, page.lastHead);
    const title = await page.title();
    if (!/ - /.test(title)) this.problems.push(`${name}: the title "${title}" does not name page and studio`);
    await page.setViewportSize(narrow);
    this.note(name, 'sideways scrolling at 320 px', await sidewaysScroll(page));
    this.note(name, 'small target at 320 px', await smallTargets(page));
    this.note(name, 'text spacing', await cutByTextSpacing(page));
    await page.emulateMedia({ colorScheme: 'dark' });
    this.note(name, 'axe at 320 px in dark colours', await axeFindings(page));
    await page.emulateMedia({ colorScheme: 'light' });
    await page.setViewportSize(wide);
    this.note(name, 'sideways scrolling at 1280 px', await sidewaysScroll(page));
    this.note(name, 'text at twice its size', await sidewaysAtDoubleText(page));
    this.note(name, 'small target at 1280 px', await smallTargets(page));
    this.note(name, 'axe at 1280 px', await axeFindings(page));
    this.note(name, 'focus', await lostFocus(page));
    await this.shoot(page, name, phone);
    await this.shoot(page, name, wide);
    await this.shootOthers(page, name);
    await page.setViewportSize(before);
  }

  end() {
    assert.ok(this.looked.size > 0, 'no page was looked at');
    assert.deepEqual(this.problems, [], `${this.problems.length} problems:\n${this.problems.join('\n')}`);
  }
}
