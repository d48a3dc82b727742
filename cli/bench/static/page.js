// One value is sent, the pieces that came back are put in their places, and the stream is listened to.
// A field is written over only where it shows what it showed when it was filled.
const policy = window.trustedTypes
  ? trustedTypes.createPolicy("tallstack", { createHTML: text => text })
  : { createHTML: text => text };
const key = document.querySelector("meta[name=tallstack-key]").content;
const here = document.body.dataset;
export const by = id => document.getElementById(id);
const known = new Map(); // id → the markup that was put there last
const notes = new Map(); // key of a field → what is said at it, until it is entered again
export const acts = {}; // what a button does, by its data-act
export const shown = []; // what else is done with what came back
const isSmall = matchMedia("(max-width: 30em), (max-height: 30em)").matches; // what stops the work is told by its first there
let line = Promise.resolve(); // requests, one after the other
let heard = "", saying = 0;

export const parsed = html => {
  const made = document.createElement("template");
  made.innerHTML = policy.createHTML(html);
  return made.content;
};

const GONE = "No answer from tallstack: it may have been ended in the terminal. What is typed stays in its field.";
const LET_OUT = "tallstack no longer lets this page in: open the address that its terminal shows now.";

async function ask(address, data) {
  const waits = data && setTimeout(() => mark(true), LATE_MS);
  const more = data === undefined ? {} : { method: "POST", body: JSON.stringify(data) };
  const headers = { "x-tallstack-key": key, ...(data === undefined ? {} : { "content-type": "application/json" }) };
  try {
    const answer = await fetch(address, { ...more, headers, redirect: "error" });
    if (answer.ok) {
      const told = await answer.json();
      clearTimeout(waits);
      trouble("");
      mark(false);
      return told;
    }
    const why = answer.headers.get("content-type").includes("json") ? (await answer.json()).refused : "";
    trouble([401, 403].includes(answer.status) ? LET_OUT : `tallstack refused that: ${why || answer.status}`);
  } catch {
    trouble(GONE);
  }
  clearTimeout(waits);
  if (data) mark(true);
  return null;
}

// What is shown is of the value before from when one is sent and not answered, and of the file as it was while that cannot be read.
const LATE_MS = 250; // an answer that comes sooner marks nothing
const owed = new Set(); // fields whose value was sent and not answered
let late = false;
function mark(is = late) {
  late = is;
  const put = (one, words) => { if (one && words) one.dataset.before = words; else if (one) delete one.dataset.before; };
  const words = here.unread || (late || owed.size ? here.late : "");
  ["band", "draw", "more", "set-plan"].forEach(id => put(by(id), words));
  put(by("parts"), here.unread);
  document.querySelectorAll("#parts .understood").forEach(one => put(one, owed.has(fieldOf(one).dataset.key) ? words : ""));
}
export const send = (address, data) => (line = line.then(() => ask(address, data)));
function trouble(words) {
  const net = by("net");
  if (!net) return;
  net.textContent = words;
  net.hidden = !words;
  if (words) uncover(document.activeElement.closest(".enter"));
}
export const page = more => ({ screen: here.screen, owner: here.owner, find: here.find, ...more });
export const job = () => encodeURIComponent(here.job);

export function say(words) {
  if (!words || words === heard) return;
  heard = words;
  clearTimeout(saying);
  saying = setTimeout(() => { by("live").textContent = heard; }, 1000);
}

// ---- what came back

export const fieldOf = element => element && element.closest(".field");
const inputOf = field => field.querySelector(".enter input");
const isDirty = input => input && input.value !== input.defaultValue;

const wordOf = one => one.dataset.word ?? one.dataset.option ?? one.dataset.tick;
const spotOf = one => one.id || one.dataset.act || one.getAttribute("href");

function focusedPlace() {
  const at = document.activeElement;
  if (!at || at === document.body) return null;
  const within = at.closest(".field, .way");
  return { spot: spotOf(at), within: within && within.id, word: wordOf(at), from: at.selectionStart, to: at.selectionEnd };
}

function focusAgain(place) {
  if (!place || (document.activeElement && document.activeElement !== document.body)) return;
  const within = (place.within && by(place.within)) || document;
  const every = [...within.querySelectorAll("input, button, a, summary")];
  const at = every.find(one => place.word !== undefined && wordOf(one) === place.word)
    || every.find(one => place.spot && spotOf(one) === place.spot);
  if (!at) return;
  at.focus({ preventScroll: true });
  if (at.setSelectionRange && place.from !== null && place.from !== undefined) at.setSelectionRange(place.from, place.to);
}

function put(id, html) {
  const region = by(id);
  if (!region || known.get(id) === html) return;
  known.set(id, html);
  const open = new Map();
  region.querySelectorAll("details").forEach((one, place) => open.set(one.id || place, one.open));
  region.replaceChildren(parsed(html));
  region.querySelectorAll("details").forEach((one, place) => { one.open = open.get(one.id || place) ?? (one.open && !isSmall); });
}

function putFields(html, shape) {
  const whole = by("parts");
  if (!whole) return;
  const fresh = parsed(html);
  if (whole.dataset.shape !== shape) {
    const typed = [...whole.querySelectorAll(".enter input")].filter(isDirty);
    const open = new Set([...whole.querySelectorAll("details[id][open]")].map(one => one.id));
    whole.replaceChildren(fresh);
    whole.dataset.shape = shape;
    known.forEach((_, id) => { if (/^[fw]-/.test(id)) known.delete(id); });
    typed.forEach(old => {
      const now = by(old.id);
      if (now && now.tagName === "INPUT") { now.value = old.value; now.defaultValue = old.defaultValue; now.dataset.was = old.dataset.was; }
    });
    whole.querySelectorAll("details[id]").forEach(one => { if (open.has(one.id)) one.open = true; });
    return;
  }
  fresh.querySelectorAll(".field, .way").forEach(now => {
    const old = by(now.id);
    if (!old || known.get(now.id) === now.outerHTML) return;
    known.set(now.id, now.outerHTML);
    const input = inputOf(old);
    const how = old.querySelector(".how");
    const open = how && how.open;
    if (isDirty(input)) {
      old.querySelector(".after").replaceWith(now.querySelector(".after"));
    } else {
      old.className = now.className;
      old.replaceChildren(...now.childNodes);
    }
    const again = old.querySelector(".how");
    if (again) again.open = open;
  });
}

// What is looked at stays where it is, whatever grows above it, and what is said at it is not below the foot.
function staying() {
  const at = document.activeElement;
  const looked = at !== document.body ? at.closest(".field, .way") || at
    : scrollY && [...document.querySelectorAll(".field, .way, .part")].find(one => one.getBoundingClientRect().top >= 0);
  const id = looked && looked.closest("[id]")?.id;
  const edge = side => by(id).getBoundingClientRect()[side];
  const top = id && edge("top");
  return () => {
    if (!id || !by(id)) return;
    scrollBy(0, edge("top") - top);
    uncover([...by(id).querySelectorAll(".note, .fault")].pop());
  };
}

function uncover(told) {
  const over = [...document.querySelectorAll("#net, footer")].filter(one => !one.hidden).map(one => one.getBoundingClientRect().top);
  const field = fieldOf(told);
  const below = field ? told.getBoundingClientRect().bottom - Math.min(...over) : 0;
  if (below > 0) scrollBy(0, Math.min(below + 8, field.getBoundingClientRect().top));
}

export function show(answer) {
  if (!answer || !answer.parts) return;
  const place = focusedPlace(), stay = staying();
  here.hash = answer.hash || here.hash;
  here.unread = answer.before || "";
  Object.entries(answer.parts).forEach(([id, html]) => put(id, html));
  if (answer.fields !== undefined) putFields(answer.fields, answer.shape);
  shown.forEach(each => each(answer));
  notes.forEach(note => noted(note));
  mark();
  focusAgain(place);
  stay();
  light();
  say(answer.heard);
}

function noted({ key, fault, said, asks, former, readings }) {
  const field = by(`f-${key}`);
  if (!field) return;
  const after = field.querySelector(".after"), input = inputOf(field);
  after.querySelectorAll(".note").forEach(one => one.remove());
  field.classList.toggle("refused", Boolean(fault));
  if (input) input.toggleAttribute("aria-invalid", Boolean(fault));
  if (input && fault) input.setAttribute("aria-invalid", "true");
  const told = (words, kind, role) => {
    const one = document.createElement("p");
    one.className = `note ${kind}`;
    if (role) one.setAttribute("role", role);
    one.textContent = words;
    after.append(one);
    return one;
  };
  const offered = (one, act, words) => {
    const button = document.createElement("button");
    Object.assign(button, { type: "button", textContent: words });
    Object.assign(button.dataset, { act, typed: former });
    one.append(" ", button);
  };
  if (fault) told(fault, "fault", "alert");
  if (said) {
    const one = told(said, "look", "status");
    if (readings) offered(one, "readon", `they were read on ${former}`);
  }
  if (asks) offered(told(asks, "look", "status"), "former", `put ${former} back`);
}

// ---- what is entered

async function enter(element, typed) {
  const field = fieldOf(element), name = field.dataset.key;
  const holder = field.querySelector("[data-loc]");
  owed.add(name);
  const answer = await send(`/enter/${job()}`, page({ loc: JSON.parse(holder.dataset.loc), typed, was: JSON.parse(holder.dataset.was) }));
  if (!answer) return false;
  owed.delete(name);
  const { fault, conflict, asks, former, said, readings } = answer.told;
  const now = by(holder.id);
  notes.delete(name);
  if (fault || asks || said) notes.set(name, { key: name, fault, asks, former, said, readings });
  if (!fault && now && now.tagName === "INPUT") now.defaultValue = typed === now.value ? now.value : now.defaultValue;
  if (!fault && now && now.tagName === "INPUT" && !isDirty(now)) known.delete(`f-${name}`);
  if (conflict && now) now.dataset.was = JSON.stringify(answer.now === undefined ? null : answer.now);
  const kept = now && now.dataset.was;
  show(answer);
  if (conflict && by(holder.id)) by(holder.id).dataset.was = kept;
  if (!fault) noted({ key: name, asks, former, said, readings });
  return !fault;
}

async function commit(input) {
  if (!isDirty(input) && !notes.get(fieldOf(input).dataset.key)?.fault) return true;
  return enter(input, input.value);
}

function besides(element, step) {
  const every = [...document.querySelectorAll("#parts .enter input, #parts .words button[data-word]")]
    .filter(one => one.offsetParent && (one.tagName === "INPUT" || one === one.parentElement.querySelector("[aria-pressed=true]") || (!one.parentElement.querySelector("[aria-pressed=true]") && one === one.parentElement.querySelector("button"))));
  const place = every.indexOf(element) + step;
  const to = place < every.length ? every[Math.max(place, 0)] : by("after");
  if (to) to.focus();
  if (to && to.select) to.select();
}

document.addEventListener("keydown", event => {
  const at = event.target;
  if (at.matches("#parts .enter input")) {
    if (event.key === "Enter") {
      event.preventDefault();
      commit(at).then(taken => { if (taken || event.shiftKey) besides(by(at.id), event.shiftKey ? -1 : 1); });
    } else if (event.key === "Escape") {
      at.value = at.defaultValue;
      notes.delete(fieldOf(at).dataset.key);
      owed.delete(fieldOf(at).dataset.key);
      noted({ key: fieldOf(at).dataset.key });
      known.delete(`f-${fieldOf(at).dataset.key}`);
      refresh(); // somebody else may have written there meanwhile
    }
  } else if ((event.ctrlKey || event.metaKey) && event.key === "z" && !at.matches("input")) {
    event.preventDefault();
    undo();
  }
});

document.addEventListener("change", event => {
  if (event.target.matches("#parts .enter input")) commit(event.target);
});
const undo = async () => {
  const answer = await send(`/undo/${job()}`, page({}));
  if (!answer) return;
  notes.clear();
  show(answer);
  by("refused").textContent = answer.told.fault;
  by("refused").hidden = !answer.told.fault;
};

Object.assign(acts, {
  undo,
  empty: button => enter(button, ""),
  former: button => { const input = inputOf(fieldOf(button)); if (input) input.value = button.dataset.typed; enter(button, button.dataset.typed); },
  readon: async button => {
    const field = fieldOf(button), { loc } = field.querySelector("[data-loc]").dataset, key = field.dataset.key;
    const answer = await send(`/read-on/${job()}`, page({ loc: JSON.parse(loc), typed: button.dataset.typed }));
    if (!answer) return;
    const { fault, said } = answer.told;
    notes.set(key, { key, fault, said });
    show(answer);
  },
  offer: button => {
    const field = fieldOf(button), input = inputOf(field), { typed, more, by: instrument } = button.dataset;
    if (typed) return enter(button, typed);
    if (more && input && !input.value.includes("+/-")) input.value = input.value.trim() + more;
    if (instrument && input) input.value = `{ read = "${input.value.trim()}", by = "${instrument}" }`;
    if (input) input.focus();
  },
  sheet: async () => {
    const answer = await send(`/sheet/${job()}`, page({}));
    if (answer) show(answer);
  },
});

function tick(button) {
  button.setAttribute("aria-pressed", button.getAttribute("aria-pressed") !== "true");
  const every = [...button.parentElement.querySelectorAll("[data-tick][aria-pressed=true]")];
  enter(button, every.map(one => one.dataset.tick).join(", "));
}

async function choose(button) {
  const way = button.closest("[data-way]").dataset.way;
  const answer = await send(`/choose/${job()}`, page({ way, option: button.dataset.option }));
  if (!answer) return;
  show(answer);
  const said = answer.told.fault || answer.told.said;
  const told = document.querySelector(`[data-way="${CSS.escape(way)}"] .said`);
  if (told) told.textContent = said;
  say(said);
}

document.addEventListener("click", event => {
  const at = event.target;
  const button = at.closest("button");
  if (button && button.dataset.act && acts[button.dataset.act]) acts[button.dataset.act](button);
  else if (button && button.dataset.option !== undefined) choose(button);
  else if (button && button.dataset.word !== undefined) enter(button, button.dataset.word);
  else if (button && button.dataset.tick !== undefined) tick(button);
  const spot = at.closest("[data-for], [data-go]");
  if (!spot) return;
  const to = by(spot.dataset.for || spot.dataset.go);
  if (!to) return;
  if (to.tagName === "A") to.click();
  else reach(to);
});

export function reach(element) {
  for (let one = element.closest("details"); one; one = one.parentElement.closest("details")) one.open = true;
  const to = element.matches("input, button, a") ? element : element.querySelector("[aria-pressed=true], button, input");
  if (to) to.focus();
  if (to) to.scrollIntoView({ block: "center" });
}

// ---- the part of the drawing that has the focus

function light() {
  const field = fieldOf(document.activeElement);
  document.querySelectorAll(".spot[data-for]").forEach(one => one.classList.toggle("lit", Boolean(field) && one.dataset.for === field.dataset.key));
}
document.addEventListener("focusin", light);

// ---- what others do

let fetching = false, again = false;
async function refresh() {
  if (fetching) { again = true; return; }
  fetching = true;
  const owner = here.owner ? `/${encodeURIComponent(here.owner)}` : "";
  const address = here.page === "folder" ? "/parts/folder" : `/parts/${job()}/${here.screen}${owner}?find=${encodeURIComponent(here.find || "")}`;
  const answer = await send(address);
  fetching = false;
  if (answer) show(answer);
  if (again) { again = false; refresh(); }
}

let stream = null, lost = false; // an open stream takes one of the few connections that a browser has
function listen() {
  if (here.page === "begin" || !here.page || stream || document.hidden) return;
  stream = new EventSource(`/stream?key=${encodeURIComponent(key)}`);
  stream.addEventListener("open", () => { if (lost) refresh(); lost = false; });
  stream.addEventListener("error", () => { lost = true; trouble(GONE); });
  stream.addEventListener("message", event => {
    const told = JSON.parse(event.data);
    const ours = here.page === "folder" ? told.folder : told.job === here.job;
    if (ours && !(told.stage === "file" && told.hash === here.hash)) refresh();
  });
}

function rest() {
  if (stream) stream.close();
  stream = null;
  lost = true;
}
document.addEventListener("visibilitychange", () => (document.hidden ? rest() : listen()));
// What is typed and not taken yet is sent when the page is left, by whichever way.
window.addEventListener("pagehide", () => {
  document.querySelectorAll("#parts .enter input").forEach(input => {
    if (!isDirty(input) || notes.get(fieldOf(input).dataset.key)?.fault) return;
    const said = page({ loc: JSON.parse(input.dataset.loc), typed: input.value, was: JSON.parse(input.dataset.was) });
    const headers = { "x-tallstack-key": key, "content-type": "application/json" };
    fetch(`/enter/${job()}`, { method: "POST", body: JSON.stringify(said), headers, keepalive: true });
  });
  rest();
});
window.addEventListener("pageshow", event => { if (event.persisted) { listen(); refresh(); } });

if (isSmall && by("stop-rest")) by("stop-rest").open = false;
window.addEventListener("beforeprint", () => document.querySelectorAll(".watching, .rest").forEach(one => { one.open = true; }));

if (location.hash.length > 1) {
  const to = by(decodeURIComponent(location.hash.slice(1)));
  if (to) reach(to);
}
listen();
