// SPDX-License-Identifier: MIT
//
// The whole way of a workshop in a browser, by labels and buttons as a person goes: first key to
// last share.  walk.sh starts the daemon; here stands the order, in studio.mjs and member.mjs
// what people do and must see.
//
//     node walk.mjs ORIGIN OWNER_KEY_FILE PAGES_DIR on|off [SHOTS_DIR]
//
// on|off: scripts in the browser.  With them off everything must work the same.
import { phone } from './look.mjs';
import { join, ask, askAndChange, tooWide, twice, ownKey, endedSession, signOut, otherSite,
  notOurForm, rights } from './member.mjs';
import { looker, run, workshopName, hostileName, browser, person, go, press, follow, fill, see, said,
  signIn, scripts } from './people.mjs';
import { welcome, wrongKey, setUpStudio, notePaper, addMember, makeWorkshop, invite, closeAndPlan,
  pictureAndSheet, invoice, payment, books, share, torn } from './studio.mjs';

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

  await step('the treasurer goes on with the books', () => books(treasurer));

  looker.end();
  console.log(`ok   ${looker.looked.size} pages, scripts ${scripts}`);
} finally {
  await browser.close();
}
