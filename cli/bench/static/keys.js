// The keys that a device's own lack; they stand at the field that has the focus.
import { by, fieldOf } from "./page.js";

const pad = by("pad");
const takesKeys = at => Boolean(at) && at.matches("#parts .enter input[inputmode=decimal], #set .enter input[inputmode=decimal]");
function offer(at) {
  if (!pad || !takesKeys(at)) return;
  fieldOf(at).querySelector(".after").after(pad);
  pad.hidden = false;
}
document.addEventListener("focusin", event => offer(event.target));
offer(document.activeElement);
// Not before a tap has ended: what is tapped must not move away under the finger.
["click", "keyup"].forEach(name => document.addEventListener(name, () => {
  if (pad && !takesKeys(document.activeElement)) pad.hidden = true;
}));
document.addEventListener("pointerdown", event => { if (event.target.closest("#pad")) event.preventDefault(); });
document.addEventListener("click", event => {
  const button = event.target.closest("#pad button");
  const input = document.activeElement;
  if (!button || !input.matches("#parts .enter input, #set .enter input")) return;
  const press = button.dataset.press;
  if (press.startsWith("digit")) step(input, press.endsWith("+") ? 1 : -1);
  else put(input, press);
  input.dispatchEvent(new Event("input", { bubbles: true })); // as the device's own keys do
});

function put(input, press) {
  const words = press === "space" ? " " : /[a-z]|\+/.test(press) ? ` ${press}${press === "+/-" ? " " : ""}` : press;
  input.setRangeText(words, input.selectionStart, input.selectionEnd, "end");
}

function step(input, way) {
  const found = /^\s*-?\d*\.?\d+/.exec(input.value);
  if (!found) return;
  const places = (found[0].split(".")[1] || "").length;
  const next = (Number(found[0]) + way * 10 ** -places).toFixed(places);
  input.value = next + input.value.slice(found[0].length);
}
