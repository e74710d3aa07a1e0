// SPDX-License-Identifier: MIT
/*
 * The command line against servers that behave badly, on the loopback.
 *
 *     node fake.mjs TEARSHARE
 *
 * Each case is a list of answers, given one after the other; what the program sent, said and
 * ended with is compared.  No real server would do most of this.
 */
import { spawn } from "node:child_process";
import { mkdtempSync, mkdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import net from "node:net";

const program = process.argv[2];
const folder = mkdtempSync(join(tmpdir(), "tearshare-"));
const key = "tsk_" + "K".repeat(43);
let checked = 0, failed = 0;

function expect(good, sentence, seen) {
	checked++;
	if (good)
		return;
	failed++;
	console.log(`FAILED: ${sentence}`);
	if (seen !== undefined)
		console.log("   saw " + JSON.stringify(seen).slice(0, 1500));
}

/* A server of bytes: each connection gets the next answer once a whole request is there. */
function serve(answers) {
	const requests = [];
	const server = net.createServer((socket) => {
		let text = "";
		socket.on("error", () => {});
		socket.on("data", (part) => {
			text += part.toString("latin1");
			const end = text.indexOf("\r\n\r\n");
			const length = Number(/content-length: *(\d+)/i.exec(text)?.[1] ?? 0);
			if (end < 0 || text.length < end + 4 + length)
				return;
			requests.push(text);
			text = "";
			const answer = answers[Math.min(requests.length, answers.length) - 1];
			if (answer === null)
				socket.destroy();
			else
				socket.end(answer, "latin1");
		});
	});
	return new Promise((done) => server.listen(0, "127.0.0.1", () => done({ server, requests, port: server.address().port })));
}

function run(args, input) {
	return new Promise((done) => {
		const child = spawn(program, args, { env: { XDG_CONFIG_HOME: folder, HOME: folder, PATH: process.env.PATH, https_proxy: "http://127.0.0.1:9", http_proxy: "http://127.0.0.1:9" } });
		let out = "", talk = "";
		child.stdout.on("data", (part) => (out += part));
		child.stderr.on("data", (part) => (talk += part));
		child.on("close", (status, signal) => done({ status, signal, out, talk }));
		child.stdin.end(input ?? "");
	});
}

const head = (status, type, more = "") => `HTTP/1.1 ${status} X\r\nConnection: close\r\nContent-Type: ${type}\r\n${more}`;
const json = (status, value, more = "") => {
	const body = JSON.stringify(value);
	return head(status, status < 400 ? "application/json" : "application/problem+json", more) + `Content-Length: ${Buffer.byteLength(body)}\r\n\r\n${Buffer.from(body).toString("latin1")}`;
};
const me = { member: { id: 1, name: "Anna", contact: "" }, studio: { id: 1, name: "S" }, roles: ["student"] };
const busy = json(503, { detail: "no database" }, "Retry-After: 0\r\n");
const long = { items: [], next: null };

const cases = [
	{ name: "a good answer", answers: [json(200, me)], args: ["whoami"], status: 0, out: "Anna" },
	{ name: "members that are new are passed over", answers: [json(200, { ...me, later: { deep: [1] } })], args: ["whoami"], status: 0, out: "Anna" },
	{ name: "busy twice, then good", answers: [busy, busy, json(200, me)], args: ["whoami"], status: 0, requests: 3 },
	{ name: "busy for ever", answers: [busy], args: ["whoami", "--wait", "0"], status: 75, talk: "no database", requests: 1 },
	{ name: "a connection that breaks is tried again", answers: [null, json(200, me)], args: ["whoami"], status: 0, requests: 2 },
	{ name: "a doing that breaks is repeated under the same name", answers: [null, busy, json(201, { id: 7, name: "P" })], args: ["paper", "add", "P", "--weight", "300", "--finish", "rough"], status: 0, requests: 3, sameOnce: true },
	{ name: "under way elsewhere is waited for", answers: [json(409, { detail: "under way" }, "Retry-After: 0\r\n"), json(201, { id: 7 })], args: ["paper", "add", "P"], status: 0, requests: 2, sameOnce: true },
	{ name: "a conflict is not repeated", answers: [json(409, { detail: "it is closed" })], args: ["paper", "add", "P"], status: 73, talk: "it is closed", requests: 1 },
	{ name: "a doing that breaks for ever says that it is not known", answers: [null], args: ["paper", "add", "P", "--wait", "0"], status: 75, talk: "is not known" },
	{ name: "the name given is used", answers: [json(201, { id: 7 })], args: ["paper", "add", "P", "--once", "my-name"], status: 0, sent: "idempotency-key: \"my-name\"" },
	{ name: "a change names the version it saw", answers: [json(200, { id: 7 }, "ETag: \"5\"\r\n"), json(200, { id: 7 })], args: ["change", "7", "--count", "3"], status: 0, sent: "if-match: \"5\"" },
	{ name: "a change that breaks is not repeated", answers: [json(200, { id: 7 }, "ETag: \"5\"\r\n"), null], args: ["change", "7", "--count", "3"], status: 75, talk: "is not known", requests: 2 },
	{ name: "a redirect is not followed", answers: [head(302, "text/html", "Location: http://127.0.0.1:1/\r\nContent-Length: 0\r\n\r\n")], args: ["whoami"], status: 76, talk: "elsewhere", requests: 1 },
	{ name: "a page instead of JSON", answers: [head(200, "text/html", "Content-Length: 5\r\n\r\n<h1>!")], args: ["whoami"], status: 76, talk: "not JSON" },
	{ name: "JSON that is cut", answers: [head(200, "application/json", "Content-Length: 5\r\n\r\n{\"a\":")], args: ["whoami"], status: 76, talk: "not JSON" },
	{ name: "an answer that is cut", answers: [head(200, "application/json", "Content-Length: 500\r\n\r\n{\"a\":1}")], args: ["whoami", "--wait", "0"], status: 75, talk: "broke" },
	{ name: "no HTTP at all", answers: ["220 mail.example ready\r\n"], args: ["whoami", "--wait", "0"], status: 76, talk: "does not speak" },
	{ name: "an answer that says it is huge", answers: [head(200, "application/json", "Content-Length: 99999999999\r\n\r\n{")], args: ["whoami"], status: 76, talk: "larger" },
	{ name: "a list that never ends", answers: [json(200, { items: [], next: 3 })], args: ["member", "list"], status: 76, talk: "not a list", requests: 2 },
	{ name: "a list without items", answers: [json(200, { some: [] })], args: ["member", "list"], status: 76, talk: "not a list" },
	{ name: "pages are followed", answers: [json(200, { items: [{ id: 1, name: "Anna" }], next: 1 }), json(200, { items: [{ id: 2, name: "Ben" }], next: null })], args: ["member", "list"], status: 0, out: "Ben", requests: 2, sent: "after=1" },
	{ name: "an empty list is told", answers: [json(200, long)], args: ["member", "list"], status: 0, talk: "no member" },
	{ name: "what steers a terminal does not", answers: [json(200, { ...me, member: { id: 1, name: "\u001b[2J\u009bm\u202e" } })], args: ["whoami"], status: 0, out: "?[2J?m?" },
	{ name: "nor under --json", answers: [json(200, { a: "\u001b\u009b\u202e" })], args: ["whoami", "--json"], status: 0, out: "\\u001B\\u009B\\u202E" },
	{ name: "a bad key", answers: [json(401, { detail: "the key is not a good one" })], args: ["whoami"], status: 77, talk: "tearshare signin" },
	{ name: "a fault of the server", answers: [json(500, { detail: "a fault of ours", request_id: "7f3a" })], args: ["whoami"], status: 70, talk: "7f3a" },
	{ name: "a proxy's own page", answers: [head(502, "text/html", "Content-Length: 3\r\n\r\nbad")], args: ["whoami", "--wait", "0"], status: 75, talk: "away" },
	{ name: "a sheet that is no PDF", answers: [json(200, { id: 1, state: "accepted" }), head(200, "text/html", "Content-Length: 3\r\n\r\nbad")], args: ["sheet", "1", "--pdf", join(folder, "x.pdf")], status: 76, talk: "instead of" },
	{ name: "an empty answer where an object belongs", answers: [head(200, "application/json", "Content-Length: 0\r\n\r\n")], args: ["plan", "show", "1"], status: 0 },
];

mkdirSync(join(folder, "tearshare"));
writeFileSync(join(folder, "tearshare", "key"), key + "\n", { mode: 0o600 });
for (const one of cases) {
	const { server, requests, port } = await serve(one.answers);
	writeFileSync(join(folder, "tearshare", "settings"), `server http://127.0.0.1:${port}\n`);
	const done = await run(one.args);
	server.close();
	const sent = requests.join("\n").toLowerCase();
	expect(done.status === one.status, `${one.name}: exit status ${one.status}`, done);
	expect(!one.out || done.out.includes(one.out), `${one.name}: answers ${one.out}`, done);
	expect(!one.talk || done.talk.includes(one.talk), `${one.name}: says ${one.talk}`, done);
	expect(!one.requests || requests.length === one.requests, `${one.name}: ${one.requests} requests`, requests.length);
	expect(!one.sent || sent.includes(one.sent), `${one.name}: sends ${one.sent}`, sent);
	expect(requests.every((text) => text.includes(`Authorization: Bearer ${key}`)), `${one.name}: the key is sent`);
	expect(!(done.out + done.talk).includes(key), `${one.name}: the key is not shown`);
	expect(!/[\u001b\u009b\u202e]/.test(done.out + done.talk), `${one.name}: nothing steers the terminal`, done);
	if (one.sameOnce) {
		const names = new Set(requests.map((text) => /idempotency-key: *(\S+)/i.exec(text)?.[1]));
		expect(names.size === 1 && !names.has(undefined), `${one.name}: one Idempotency-Key`, [...names]);
	}
}
rmSync(folder, { recursive: true, force: true });
console.log(`${checked} checks, ${failed} failed`);
process.exit(failed ? 1 : 0);
