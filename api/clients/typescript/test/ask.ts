// Asks the service at the given address for dampers, and prints the best pick list.
import { argv } from "node:process";
import { connect, type Schemas } from "midstroke-client";

// An eye on an M12 bolt.
const eye: Schemas["EyePlace"] = { style: "eye", bolt: "M12", opening: "1 1/2", plate: "3/16" };

// An eye over an eye, and two readings: a text and a number.
const request: Schemas["FitsRequest"] = {
  units: "in",
  upper: eye,
  lower: eye,
  suspension: "solid_axle",
  readings: ["17 5/16", 17.3125],
};

const client = connect(argv[2] ?? "");

const { data: answer, error: problem, response } = await client.POST("/v1/fits", { body: request });
if (!answer) {
  throw new Error(`${response.status}: ${JSON.stringify(problem)}`);
}
const best = answer.fits[0];
if (!best) {
  throw new Error(`${answer.outcome}: ${answer.reasons.map((reason) => reason.text).join(" ")}`);
}
for (const line of best.pick_list) {
  console.log(line.quantity, line.text, line.code ?? line.standard, line.amount ?? "");
}
console.log("total", best.total.amount, best.total.currency);

// Amounts are texts with two decimals. The sum is exact in hundredths.
const hundredths = (amount: string) => Math.round(Number(amount) * 100);
const sum = best.pick_list.reduce((sum, line) => sum + hundredths(line.amount ?? "0"), 0);
if (sum !== hundredths(best.total.amount)) {
  throw new Error(`the lines add up to ${sum} hundredths, the total is ${best.total.amount}`);
}

const { error: refused } = await client.POST("/v1/fits", { body: { ...request, readings: ["17 5/0"] } });
if (!refused || !("errors" in refused) || !refused.errors) {
  throw new Error(`a reading that is no length: ${JSON.stringify(refused)}`);
}
for (const fault of refused.errors) {
  console.log("refused", fault.pointer, fault.code);
}
