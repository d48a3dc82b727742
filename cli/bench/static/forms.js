// Forms that are sent whole: a new job, a copy of one, lines of the record. The page sends them, this gathers them.
import { acts, by, job, page, parsed, reach, say, send, show, shown } from "./page.js";

const givenOf = form => [...form.querySelectorAll("[data-what], [data-given]")];

const gathered = region => ({
  typed: givenOf(region).map(one => [one.id, one.value]),
  picked: [...region.querySelectorAll(":checked")].map(one => [one.name, one.value]),
});

function laid(region, { typed, picked }) {
  const put = (one, inside) => { for (let each = inside && one.closest("details"); each; each = each.parentElement.closest("details")) each.open = true; };
  typed.forEach(([id, value]) => { if (by(id)) { by(id).value = value; put(by(id), value); } });
  picked.forEach(([name, value]) => region.querySelectorAll("input[name]").forEach(one => {
    if (one.name === name && one.value === value) { one.checked = true; put(one, value); }
  }));
  counted();
}

function putForm({ html, shape }) {
  const region = by("set-form");
  if (!region || region.dataset.shape === shape) return;
  const held = gathered(region);
  region.replaceChildren(parsed(html));
  region.dataset.shape = shape;
  laid(region, held);
}

// What is typed and not written yet is there again when its screen is.
const DRAFT = `draft of ${location.pathname}`;
const keep = () => { if (by("set")) sessionStorage.setItem(DRAFT, JSON.stringify(gathered(by("set")))); };

function counted() {
  const count = by("count");
  if (count) count.textContent = parseFloat(by("s-flats").value) || 0;
}

function wrong(form, faults, prefix) {
  form.querySelectorAll(".after").forEach(one => one.replaceChildren());
  form.querySelectorAll("[aria-invalid]").forEach(one => one.removeAttribute("aria-invalid"));
  Object.entries(faults || {}).forEach(([name, why]) => {
    const field = by(`f-${prefix}${name.replaceAll(" ", "-")}`);
    const told = document.createElement("p");
    told.className = "fault";
    told.setAttribute("role", "alert");
    told.textContent = why;
    (field ? field.querySelector(".after") : [...form.querySelectorAll(".after")].pop()).append(told);
    const input = field && field.querySelector("input");
    if (input) input.setAttribute("aria-invalid", "true");
  });
  const first = form.querySelector("[aria-invalid]");
  if (first) reach(first);
}

async function record(form) {
  const values = {}, given = {};
  givenOf(form).forEach(one => { if (one.dataset.what) values[one.dataset.what] = one.value; else given[one.dataset.given] = one.value; });
  form.querySelectorAll("input[type=radio]:checked").forEach(one => { given[one.name] = one.value; });
  form.querySelectorAll("input[type=checkbox]").forEach(one => { given[one.name] = one.checked; });
  const button = form.querySelector("[type=submit]");
  button.disabled = true;
  const answer = await send(`/record/${job()}`, page({ ...given, values }));
  button.disabled = false;
  if (!answer) return;
  wrong(form, answer.faults, "s-");
  const done = !Object.keys(answer.faults).length;
  if (done) {
    sessionStorage.removeItem(DRAFT);
    givenOf(form).forEach(one => { if (one.dataset.what || one.dataset.given === "note") one.value = ""; });
    const none = form.querySelector("input[name=changed][value='']");
    if (none) none.checked = true;
    counted();
  }
  form.querySelector(".said").textContent = done ? answer.told.said : "";
  show(answer);
  say(answer.told.said);
}

async function withdraw(form) {
  const answer = await send(`/withdraw/${job()}`, page({ number: Number(form.dataset.number), note: by("m-note").value }));
  if (!answer) return;
  const faults = answer.faults;
  wrong(form, faults, "m-");
  if (!Object.keys(faults).length) { form.hidden = true; by("m-note").value = ""; }
  show(answer);
  say(answer.told.said);
}

document.addEventListener("keydown", event => {
  const at = event.target;
  if (event.key !== "Enter" || !at.matches("#set input[type=text]")) return;
  event.preventDefault();
  const every = [...by("set").querySelectorAll("input[type=text], [type=submit]")].filter(one => one.offsetParent);
  const to = every[every.indexOf(at) + (event.shiftKey ? -1 : 1)];
  if (to) to.focus();
});

document.addEventListener("submit", async event => {
  const form = event.target;
  if (form.id === "set" || form.id === "mistake") {
    event.preventDefault();
    (form.id === "set" ? record : withdraw)(form);
    return;
  }
  if (form.id !== "begin" && !form.dataset.copy) return;
  event.preventDefault();
  const data = {};
  new FormData(form).forEach((value, name) => { data[name] = data[name] ? `${data[name]}, ${value}` : value; });
  const answer = await send(form.dataset.copy ? "/copy" : "/begin", form.dataset.copy ? { ...data, of: form.dataset.copy } : data);
  if (!answer) return;
  if (answer.go) { location.assign(answer.go); return; }
  wrong(form, answer.faults, "");
});

document.addEventListener("keydown", event => {
  if (event.key === "Escape" && event.target.closest("#mistake")) acts.leave();
});
document.addEventListener("input", event => {
  if (event.target.id === "s-flats") counted();
  if (event.target.closest("#set")) keep();
});
shown.push(answer => { if (answer.form) putForm(answer.form); });
Object.assign(acts, {
  flat: button => {
    const input = by("s-flats"), step = Number(button.dataset.step);
    const now = step ? (parseFloat(input.value) || 0) + step : 0;
    input.value = now || "";
    counted();
    keep();
  },
  line: button => {
    const form = by("mistake");
    form.dataset.number = button.dataset.number;
    by("m-line").textContent = button.dataset.number;
    form.hidden = false;
    by("m-note").focus();
  },
  leave: () => {
    const form = by("mistake");
    form.hidden = true;
    const line = document.querySelector(`[data-act=line][data-number="${form.dataset.number}"]`);
    if (line) line.focus();
  },
});
const draft = by("set") && sessionStorage.getItem(DRAFT);
if (draft) laid(by("set"), JSON.parse(draft));
