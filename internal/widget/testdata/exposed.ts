// What the tests call of the pages' modules by themselves. go generate joins it into
// exposed.js, as it joins the pages' own scripts.
export { readLine } from "../src/counter/callline";
export { rebuild } from "../src/drawing";
export { fieldOf } from "../src/fields";
export { checkLength } from "../src/length";
export { keepMeaning, Request } from "../src/request";
export { symbolOf } from "../src/sheet/qrcode";
export { unbroken } from "../src/words";
export { render } from "preact";
