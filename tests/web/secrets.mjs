#!/usr/bin/env node
// SPDX-License-Identifier: MIT
/*
 * The canary run: secrets and hostile texts go through the API, then everything that was
 * written is searched for them: the log, the whole folder of the database (its own log and
 * its write-ahead log too), a dump, the command lines of all our processes.
 */
import { readFileSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";
import { startServer, finish, expect, planned } from "./api.mjs";

const hostile = ["<b>bold</b>", "\"onx=\"", "'; DROP TABLE member; --", "javascript:alert(1)", "]]>", "{{7*7}}", "%s%n%x",
	"=1+1", "\\u0000", "level=error event=forged", "a\u00a0b", "\u65e5\u672c\u8a9e", "\u05e2\u05d1\u05e8\u05d9\u05ea"];
const refused = ["a\r\nlevel=error", "a\u0000b", "a\u001b[31m", "\u202eevil", "a\u2028b", "a\u0085b"];
const secrets = [];
let server = null, owner = null;

function remember(what, secret) {
	secrets.push([what, secret]);
	return secret;
}

async function play() {
	owner = server.caller(remember("the owner's key", server.ready.owner1));
	const me = (await owner.get("/v1/me")).json.member;
	await owner.patch(`/v1/members/${me.id}`, { roles: ["owner", "instructor", "treasurer"] }, me.version);
	const paper = await owner.made("/v1/papers", { name: hostile[0], weight_gsm: 300, finish: "rough", fibre: hostile[4], colour: hostile[2] });
	await owner.made("/v1/stock", { paper_id: paper.id, kind: "fresh", name: hostile[1], width: "45 in", length: "10 yd", price_minor: 100, lot: hostile[7] });
	const w = await owner.made("/v1/workshops", { name: hostile[2], closes_at: "2099-01-01T00:00:00Z", starts_on: "2099-01-05", papers: [paper.id] });
	const invitation = await owner.made(`/v1/workshops/${w.id}/invitations`, {});
	remember("an invitation's code", invitation.code);
	remember("an invitation's code, bare", invitation.code.replaceAll("-", ""));
	remember("an invitation's token", invitation.link.slice(invitation.link.lastIndexOf("/") + 1));
	for (const name of hostile) {
		const joined = await server.caller(null).post("/v1/join", { code: invitation.code, name, contact: name },
			{ headers: { "User-Agent": name.replace(/[^\x20-\x7e]/g, "?") + " level=error" } });
		expect(joined.status === 201 && joined.json.member.name === name && joined.json.member.contact === name, `the name ${name} comes back as it went in`, joined);
		const caller = server.caller(remember(`the key of ${name}`, joined.json.key));
		const asked = await caller.post(`/v1/workshops/${w.id}/requests`, { paper_id: paper.id, count: 1, across: "9 in", along: "12 in", note: name });
		expect(asked.status === 201 && asked.json.note === name, `the note ${name} comes back as it went in`, asked);
		const key = await caller.post(`/v1/members/${joined.json.member.id}/keys`, { name });
		remember("another key", key.json.key);
		const bad = "tsk_" + "C".repeat(38) + String(secrets.length).padStart(5, "0");
		await server.caller(remember("a bad key", bad)).get("/v1/me");
		await server.caller(null).post("/v1/join", { code: remember("a guessed code", `ZZZZ-ZZZZZ-${String(secrets.length).padStart(4, "0")}`), name });
	}
	for (const name of refused) {
		const answer = await owner.post("/v1/members", { name });
		expect([400, 422].includes(answer.status), `the name ${JSON.stringify(name)} is refused`, answer);
	}
	await owner.made(`/v1/workshops/${w.id}/close`, {});
	const plan = await planned(owner, (await owner.made(`/v1/workshops/${w.id}/plans`, {})).id);
	await owner.made(`/v1/plans/${plan.id}/accept`, {});
	const sheet = await owner.get(`/v1/plans/${plan.id}/sheet`);
	expect(sheet.status === 200 && !/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u202a-\u202e]/.test(sheet.text), "the sheet holds no control characters", sheet.text.slice(0, 300));
	const svg = await owner.get(`/v1/plans/${plan.id}/sheet?form=svg`);
	expect(svg.status === 200 && !svg.text.includes("<b>") && !svg.text.includes("<script"), "the SVG escapes names", svg.text.slice(0, 300));
	for (const form of ["text", "svg"])
		expect(!(await owner.get(`/v1/plans/${plan.id}/sheet?form=${form}`)).text.includes("19200"), "no amount lies on the table");
	return w;
}

function files(folder) {
	return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
		const path = join(folder, entry.name);
		if (entry.isDirectory())
			return files(path);
		return entry.isFile() ? [path] : [];
	});
}

/* Every header and body that was sent is known; what was written must not hold them. */
function search() {
	const seen = [["the log", server.log()], ["a dump", server.dump()]];
	for (const pid of readdirSync("/proc").filter((name) => /^\d+$/.test(name))) {
		try {
			seen.push([`the command line of ${pid}`, readFileSync(`/proc/${pid}/cmdline`, "latin1")]);
			if (statSync(`/proc/${pid}`).uid === process.getuid() && readFileSync(`/proc/${pid}/cmdline`, "latin1").includes("web_server"))
				seen.push([`the environment of ${pid}`, readFileSync(`/proc/${pid}/environ`, "latin1")]);
		} catch { /* it has ended */ }
	}
	for (const path of files(join(server.folder, "data")))
		if (statSync(path).size < 1 << 26)
			seen.push([path, readFileSync(path, "latin1")]);
	expect(seen.some(([name]) => name.includes("pg_wal")), "the write-ahead log is among what is searched");
	expect(seen.some(([name, text]) => name.includes("/data/") && text.includes(hostile[3])), "what is stored is found there, so a secret would be");
	for (const [where, text] of seen)
		for (const [what, secret] of secrets)
			if (text.includes(secret))
				expect(false, `${what} stands in ${where}`);
	expect(secrets.length > 40 && seen.length > 100, "there was something to find, and where", [secrets.length, seen.length]);
}

/* One event a line, key=value; nothing that was sent makes a line of its own. */
function checkLog() {
	for (const line of server.log().trim().split("\n"))
		if (!/^\d{4}-\d\d-\d\dT[\d:.]+Z level=(debug|info|warn|error) event=[a-z-]+( [a-z_]+=("([^"\\]|\\.)*"|[^ "]*))*$/.test(line))
			expect(false, "a line of the log is key=value", line);
	expect(!/level=error/.test(server.log().replace(/"([^"\\]|\\.)*"/g, '""')), "no line was forged and nothing failed inside",
		server.log().split("\n").filter((l) => /level=error/.test(l)).slice(0, 3));
	expect(/event=key-refused .*peer=/.test(server.log()) && /event=code-refused .*peer=/.test(server.log()) && /event=roles-changed .*by=/.test(server.log()),
		"refused keys and codes and changes of roles are logged with who and from where");
}

try {
	server = await startServer();
	await play();
	search();
	checkLog();
	const events = server.sql("SELECT string_agg(details::text, ' ') FROM tearshare.event");
	expect(secrets.every(([, secret]) => !events.includes(secret)), "no event tells a secret");
} finally {
	await finish(server);
}
