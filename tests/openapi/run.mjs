// SPDX-License-Identifier: MIT
/*
 * Run every example of docs/openapi.yaml, in the order of its x-run numbers, against a daemon:
 *
 *     node run.mjs URL CA_FILE OWNER_KEY_FILE
 *
 * The daemon must be fresh.  Ids of the examples stand for those the daemon gave to the same
 * things.  For each step:
 *   - the status is the one written;
 *   - the answer fits the schema, and holds no member the schema does not name;
 *   - the example itself fits the schema, and has the same shape as the answer: the same
 *     members with the same kinds of values, and the same `u` and `text` of lengths.
 * Every operation must have a step.  Schemas are those of JSON Schema 2020-12, judged by ajv.
 *
 * Dates in the examples lie in 2036; they are taken as next year's, so that workshops are
 * open whenever this runs.
 */
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import { randomBytes } from "node:crypto";
import http from "node:http";
import https from "node:https";

const tools = createRequire(new URL("../browser/package.json", import.meta.url));
const yaml = tools("js-yaml");
const Ajv = tools("ajv/dist/2020").default;

const [url, caFile, keyFile] = process.argv.slice(2);
const root = new URL("../../", import.meta.url);
const doc = yaml.load(readFileSync(new URL("docs/openapi.yaml", root), "utf8"));
const kept = { owner: readFileSync(keyFile, "utf8").trim() };
const year = String(new Date().getUTCFullYear() + 1);
let failed = 0, checked = 0;

function expect(good, sentence, seen) {
	checked++;
	if (good)
		return;
	failed++;
	console.log(`FAILED: ${sentence}`);
	if (seen !== undefined)
		console.log("   " + (typeof seen === "string" ? seen : JSON.stringify(seen)).slice(0, 1500));
}

/* ---- the description ---- */

function follow(node) {
	while (node && node.$ref)
		node = node.$ref.slice(2).split("/").reduce((o, name) => o[name], doc);
	return node;
}

/* Objects of which the description names the members hold no others. */
function closed(schema) {
	if (Array.isArray(schema))
		return schema.map(closed);
	if (schema === null || typeof schema !== "object")
		return schema;
	const copy = {};
	for (const [name, value] of Object.entries(schema))
		copy[name] = closed(value);
	if (copy.properties && copy.additionalProperties === undefined)
		copy.additionalProperties = false;
	return copy;
}

const ajv = new Ajv({ strict: false, validateFormats: false, allErrors: true });
ajv.addSchema({ $id: "doc", components: closed(doc.components) }, "doc");
function judge(schema, value) {
	const local = JSON.parse(JSON.stringify(closed(schema)).replaceAll("\"#/components", "\"doc#/components"));
	const validate = ajv.compile(local);
	return validate(value) ? "" : ajv.errorsText(validate.errors);
}

function steps() {
	const list = [];
	for (const [path, item] of Object.entries(doc.paths)) {
		for (const [method, operation] of Object.entries(item)) {
			if (!["get", "post", "patch", "delete", "put"].includes(method))
				continue;
			expect(operation["x-run"]?.length > 0, `${method} ${path} has an example that is run`);
			for (const step of operation["x-run"] ?? [])
				list.push({ ...step, method, path, operation });
		}
	}
	const numbers = new Set(list.map((step) => step.n));
	expect(numbers.size === list.length, "every step has a number of its own");
	return list.sort((a, b) => a.n - b.n);
}

function example(media, name) {
	if (!media)
		return undefined;
	return media.examples ? follow(media.examples[name ?? "default"])?.value : media.example;
}

/* ---- ids ---- */

/* "papers 1" of the examples is this id of the daemon's. */
const ids = new Map();
const idOf = (what, id) => ids.get(`${what} ${id}`) ?? id;
const kinds = { member_id: "members", paper_id: "papers", papers: "papers", paper: "papers", workshop: "workshops" };

function learnId(step, wanted, seen) {
	const segments = step.path.split("/").filter((part) => part && !part.startsWith("{"));
	if (step.method !== "post")
		return;
	if (Number.isInteger(wanted.id))
		ids.set(`${segments.at(-1)} ${wanted.id}`, seen.id);
	if (Number.isInteger(wanted.member?.id))
		ids.set(`members ${wanted.member.id}`, seen.member.id);
	if (segments.at(-1) === "reverse")
		ids.set(`payments ${wanted.id}`, seen.id);
}

/* The body with the daemon's ids. */
function withIds(value, name) {
	if (Array.isArray(value))
		return value.map((one) => withIds(one, name));
	if (value !== null && typeof value === "object")
		return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, withIds(one, key)]));
	return Number.isInteger(value) && kinds[name] ? idOf(kinds[name], value) : value;
}

/* ---- calling ---- */

const agentOptions = caFile && caFile !== "-" ? { ca: readFileSync(caFile) } : {};
function call(method, path, headers, body) {
	const target = new URL(path, url);
	const via = target.protocol === "https:" ? https : http;
	return new Promise((done, fail) => {
		const request = via.request(target, { method, headers, family: 4, ...agentOptions }, (answer) => {
			const parts = [];
			answer.on("data", (part) => parts.push(part));
			answer.on("end", () => done({ status: answer.statusCode, headers: answer.headers, text: Buffer.concat(parts).toString("utf8") }));
		});
		request.on("error", fail);
		request.end(body);
	});
}

function filled(value) {
	let text = JSON.stringify(value).replaceAll("\"2036-", `"${year}-`);
	for (const [name, secret] of Object.entries(kept))
		text = text.replaceAll(`{${name}}`, secret);
	return text;
}

async function perform(step) {
	const { operation } = step;
	let path = step.path;
	for (const [name, value] of Object.entries(step.at ?? {}))
		path = path.replace(`{${name}}`, encodeURIComponent(idOf(step.path.split("/")[2], value)));
	if (step.query)
		path += "?" + step.query.replace(/(workshop|paper)=(\d+)/, (all, name, id) => `${name}=${idOf(kinds[name], id)}`);
	const headers = {};
	if (step.as !== "nobody")
		headers.authorization = `Bearer ${kept[step.as]}`;
	if (step.method === "post")
		headers["idempotency-key"] = `"${step.once ?? randomBytes(16).toString("hex")}"`;
	if (step.match)
		headers["if-match"] = step.match;
	let body;
	if (operation.requestBody) {
		const media = operation.requestBody.content["application/json"];
		const value = example(media, step.body);
		expect(value !== undefined, `step ${step.n}: there is an example "${step.body ?? "default"}" of the body`);
		body = Buffer.from(filled(withIds(value)));
		headers["content-type"] = "application/json";
		headers["content-length"] = body.length;
	}
	return call(step.method.toUpperCase(), path, headers, body);
}

/* ---- comparing ---- */

function kind(value) {
	return value === null ? "null" : Array.isArray(value) ? "list" : typeof value;
}

/* What differs in shape, as a path; "" when nothing does.  null stands beside any kind. */
function difference(wanted, seen, at) {
	if (wanted === null || seen === null)
		return "";
	if (kind(wanted) !== kind(seen))
		return `${at || "/"} is ${kind(seen)} instead of ${kind(wanted)}`;
	if (kind(wanted) === "list")
		return wanted.length && seen.length ? difference(wanted[0], seen[0], `${at}/0`) : "";
	if (kind(wanted) !== "object")
		return "";
	for (const name of Object.keys(wanted)) {
		if (!(name in seen))
			return `${at}/${name} is missing`;
		const inside = difference(wanted[name], seen[name], `${at}/${name}`);
		if (inside)
			return inside;
	}
	return "";
}

function checkBody(step, answer, media, title) {
	let value;
	try {
		value = JSON.parse(answer.text);
	} catch {
		return expect(false, `${title}: the answer is JSON`, answer.text);
	}
	const wrong = judge(media.schema, value);
	expect(!wrong, `${title}: the answer fits its schema`, wrong + " " + answer.text);
	const wanted = example(media, step.answer);
	if (wanted !== undefined && answer.status < 400) {
		const unfit = judge(media.schema, wanted);
		expect(!unfit, `${title}: the example fits its schema`, unfit);
		const differs = difference(wanted, value, "");
		expect(!differs, `${title}: the answer has the shape of the example`, `${differs} ${answer.text}`);
		if (!differs)
			learnId(step, wanted, value);
	}
	return value;
}

function check(step, answer) {
	const title = `step ${step.n} ${step.method} ${step.path} as ${step.as}`;
	const allowed = [step.status].flat();
	expect(allowed.includes(answer.status), `${title}: status ${allowed.join(" or ")}, not ${answer.status}`, answer.text);
	if (!allowed.includes(answer.status))
		return;
	const { responses } = step.operation;
	const response = follow(responses[String(answer.status)] ?? responses[`${String(answer.status)[0]}XX`]);
	expect(response, `${title}: status ${answer.status} is described`);
	const type = (answer.headers["content-type"] ?? "").split(";")[0];
	if (answer.status === 204)
		return expect(answer.text === "", `${title}: 204 has no content`);
	if (step.type)
		return expect(type === step.type && answer.text.length > 0, `${title}: the answer is ${step.type}`, type);
	const media = response?.content?.[type];
	expect(media, `${title}: "${type}" is described`);
	if (response?.headers?.ETag)
		expect(/^"[^"]+"$/.test(answer.headers.etag ?? ""), `${title}: the answer has an ETag`);
	const value = media && checkBody(step, answer, media, title);
	for (const [member, name] of Object.entries(step.keep ?? {})) {
		expect(typeof value?.[member] === "string", `${title}: the answer holds "${member}"`);
		kept[name] = value?.[member];
	}
}

/* Asked again until a member has one of the values: a plan until it is made. */
async function performUntil(step) {
	const [[member, values]] = Object.entries(step.until);
	for (;;) {
		const answer = await perform(step);
		if (answer.status !== 200 || values.includes(JSON.parse(answer.text)[member]))
			return answer;
		await new Promise((done) => setTimeout(done, 50));
	}
}

for (const step of steps()) {
	check(step, await (step.until ? performUntil(step) : perform(step)));
}
console.log(`${checked} checks, ${failed} failed`);
process.exit(failed ? 1 : 0);
