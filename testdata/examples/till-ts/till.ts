// Goes from readings to a kept quote and its sheet, by the client of api/clients/typescript.
//
//   MIDSTROKE_KEY=… node till.js http://127.0.0.1:8080 rear ../rear-axle-two-eyes.json
import { readFileSync } from "node:fs";
import { argv, env, exit, stdin, stdout } from "node:process";
import { createInterface } from "node:readline/promises";
import { connect, newKey, type Schemas } from "midstroke-client";

const [, , url, axle, file] = argv;
if (!url || (axle !== "front" && axle !== "rear") || !file) {
  console.error("usage: till URL front|rear REQUEST.json");
  exit(2);
}
const client = connect(url, env["MIDSTROKE_KEY"]);
const request = JSON.parse(readFileSync(file, "utf8")) as Schemas["FitsRequest"];

function failed(status: number, problem: unknown): never {
  console.error(status, JSON.stringify(problem));
  exit(1);
}

const { data: found, error: refused, response } = await client.POST("/v1/fits", { body: request });
if (!found) {
  failed(response.status, refused);
}
if (found.fits.length === 0) {
  console.error("Nothing to sell:", found.outcome);
  exit(1);
}
for (const fit of found.fits) {
  console.log(`${fit.rank}  ${fit.damper.code}  ${fit.grade}  ${fit.damper.description}`);
}
const counter = createInterface({ input: stdin, output: stdout });
const best = found.fits[Number(await counter.question("Which one? ")) - 1];
counter.close();
if (!best) {
  console.error("None of these.");
  exit(1);
}

// The key makes it safe to send the request again, which the client does.
const kept = await client.POST("/v1/quotes", {
  params: { header: { "Idempotency-Key": newKey() } },
  body: { reference: request.reference ?? "", axles: [{ axle, damper: best.damper.code, request }] },
});
const quote = kept.data;
if (!quote || !("pick_list" in quote)) { // a text comes only if `errors=text` was asked for
  failed(kept.response.status, kept.error);
}
for (const line of quote.pick_list) {
  console.log(`${line.quantity} × ${line.text}`);
}
console.log(`Total ${quote.total.amount} ${quote.total.currency}\nQuote ${quote.id}`);
const sheet = await fetch(url + quote.sheet?.url);
if (!sheet.ok) {
  failed(sheet.status, await sheet.text());
}
console.log("Sheet", url + quote.sheet?.url);
