// SPDX-License-Identifier: MIT
/*
 * kill -9 at random moments: what was acknowledged is there, each thing once.
 *
 *     node kill.mjs [KILLS [SEED]]
 *
 * Writers post numbered things, each under an Idempotency-Key of its own, and keep the list of what was
 * acknowledged.  After the n-th acknowledgement, or when the n-th request has just been sent (n
 * and which of both are seeded), the daemon is killed, sometimes its PostgreSQL too, and
 * started again; the writers repeat what they hold no answer for under the same keys.  Half
 * of the kills come while members ask for sheets, half while payments are booked.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { addMember, caller, everything, expect, finish, makeFolder, planned, readKey, removeFolder, seeded, setUpWorkshop, startDaemon } from "./daemon.mjs";

const kills = Number(process.argv[2] ?? 50), seed = Number(process.argv[3] ?? 20261125);
const writers = 6;
const random = seeded(seed);
const folder = makeFolder();
const daemon = await startDaemon({ data: join(folder, "data") });
let down = null; // while the daemon is away: resolves when it is back

function killPostgres() {
	const pid = Number(readFileSync(join(daemon.data, "cluster", "postmaster.pid"), "utf8").split("\n")[0]);
	process.kill(pid, "SIGKILL");
}

async function killAndRestart(withPostgres) {
	if (withPostgres)
		killPostgres();
	await daemon.kill();
	await daemon.start();
}

/* One thing, posted until there is an answer that is final. */
async function post(call, path, thing, tell) {
	for (;;) {
		if (down)
			await down;
		try {
			const answer = await call("POST", path, thing.value, { once: thing.once, sent: () => tell("sent") });
			if (answer.status === 503 || answer.status === 409 && answer.headers["retry-after"]) {
				await new Promise((done) => setTimeout(done, 20));
				continue;
			}
			return answer;
		} catch (error) {
			thing.broken = (thing.broken ?? 0) + 1;
			if (!down && daemon.child.exitCode === null && daemon.child.signalCode === null && thing.broken > 2000)
				throw error;
			await new Promise((done) => setImmediate(done));
		}
	}
}

/* Write things until the daemon was killed `times` times; returns what was acknowledged. */
async function writeWhileKilled(times, path, calls, make) {
	const acknowledged = [];
	let killed = 0, number = 0, left = 1 + random(8), how = random(2) ? "sent" : "acknowledged";
	const tell = (what) => {
		if (down || killed === times || what !== how || --left > 0)
			return;
		killed++;
		left = 1 + random(8);
		how = random(2) ? "sent" : "acknowledged";
		down = killAndRestart(killed % 5 === 0).then(() => {
			down = null;
		});
	};
	const write = async (call) => {
		while (killed < times || down) {
			const thing = { ...make(number++), once: `kill-${path.length}-${number}` };
			const answer = await post(call, path, thing, tell);
			expect(answer.status === 201, `seed ${seed}: ${path} ${JSON.stringify(thing.value)} is done`, answer.text);
			acknowledged.push({ ...thing, id: answer.body?.id, text: answer.text });
			tell("acknowledged");
		}
	};
	await Promise.all(Array.from({ length: writers }, (unused, i) => write(calls[i % calls.length])));
	await down;
	return acknowledged;
}

/* Each acknowledged thing is there exactly once, and nothing that was never sent. */
function compare(what, acknowledged, found, mark) {
	const times = new Map();
	for (const one of found)
		times.set(one[mark], (times.get(one[mark]) ?? 0) + 1);
	let lost = 0, doubled = 0, other = 0;
	for (const thing of acknowledged) {
		const n = times.get(thing.value[mark]) ?? 0;
		lost += n === 0;
		doubled += n > 1;
		other += !found.some((one) => one.id === thing.id && one[mark] === thing.value[mark]);
	}
	expect(lost === 0, `seed ${seed}: no acknowledged ${what} is lost`, `${lost} of ${acknowledged.length}`);
	expect(doubled === 0, `seed ${seed}: no ${what} is there twice`, doubled);
	expect(other === 0, `seed ${seed}: each ${what} has the id of its answer`, other);
	expect(found.length === acknowledged.length, `seed ${seed}: there is no ${what} besides`, `${found.length} and ${acknowledged.length}`);
}

async function repeatSome(what, path, acknowledged, calls) {
	for (let i = 0; i < 20; i++) {
		const at = random(acknowledged.length), thing = acknowledged[at];
		for (const call of calls) {
			const again = await call("POST", path, thing.value, { once: thing.once });
			if (again.status === 201 || calls.length === 1)
				expect(again.text === thing.text, `seed ${seed}: the same ${what} again gives the first answer`, again.text);
		}
	}
}

try {
	const owner = caller(daemon, readKey(daemon.data));
	const { paper, workshop } = await setUpWorkshop(owner);
	const instructor = await addMember(owner, daemon, workshop, "Instructor", ["instructor"]);
	const student = await addMember(owner, daemon, workshop, "Student");
	const treasurer = await addMember(owner, daemon, null, "Treasurer", ["treasurer"]);

	const asks = `/v1/workshops/${workshop.id}/requests`;
	const asked = await writeWhileKilled(Math.ceil(kills / 2), asks, [student.call],
		(n) => ({ value: { paper_id: paper.id, count: 1, across: "9 in", along: "12 in", note: `ask ${n}` } }));
	compare("request", asked, await everything(instructor.call, asks), "note");
	await repeatSome("request", asks, asked, [student.call]);
	expect((await everything(instructor.call, asks)).length === asked.length, `seed ${seed}: repeating added nothing`);

	await instructor.call("POST", `/v1/workshops/${workshop.id}/close`, {});
	const plan = await instructor.call("POST", `/v1/workshops/${workshop.id}/plans`, {});
	expect((await planned(instructor.call, plan.body)).state === "ready", "the plan is made");
	expect((await instructor.call("POST", `/v1/plans/${plan.body.id}/accept`, {})).status === 200, "the plan is accepted");
	const settled = await treasurer.call("POST", `/v1/workshops/${workshop.id}/settlements`, { invoices: [{ paper_id: paper.id, amount_minor: 38950 }] });
	expect(settled.status === 201, "the workshop is settled", settled.text);

	const pays = `/v1/workshops/${workshop.id}/payments`;
	const paid = await writeWhileKilled(Math.floor(kills / 2), pays, [treasurer.call],
		(n) => ({ value: { member_id: student.member.id, amount_minor: 1 + n % 7, reference: `slip ${n}` } }));
	const entries = (await everything(treasurer.call, pays)).filter((one) => one.kind === "payment");
	compare("payment", paid, entries, "reference");
	await repeatSome("payment", pays, paid, [treasurer.call]);
	const sum = paid.reduce((total, one) => total + one.value.amount_minor, 0);
	const shares = await treasurer.call("GET", `/v1/workshops/${workshop.id}/shares`);
	const share = shares.body?.items.find((one) => one.member_id === student.member.id);
	expect(share?.paid_minor === sum, `seed ${seed}: what was paid adds up`, `${sum} and ${shares.text}`);
	const books = await treasurer.call("GET", "/v1/reconciliation");
	expect(books.body?.items.length === 0, `seed ${seed}: the books agree`, books.text);
	const broken = [...asked, ...paid].filter((one) => one.broken).length;
	expect(kills < 10 || broken > 0, "some requests were broken by a kill and repeated");
	console.log(`${kills} kills, ${asked.length} requests and ${paid.length} payments acknowledged, ${broken} of them repeated`);
} finally {
	await finish();
	removeFolder(folder);
}
