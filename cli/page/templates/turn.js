"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  const all = (css, root = document) => [...root.querySelectorAll(css)];

  const choice = byId("unit-choice");
  choice.hidden = false;
  choice.addEventListener("change", (event) => {
    document.body.classList.remove("only-mm", "only-in");
    if (event.target.value) document.body.classList.add(event.target.value);
  });
  byId("print").hidden = false;
  byId("print").addEventListener("click", () => window.print());

  // The contents bar marks the page that stands at its foot.
  const links = all("#contents a");
  const pages = links.map((link) => byId(link.hash.slice(1)));
  const mark = () => {
    const foot = byId("bar").getBoundingClientRect().bottom + 24;
    const ended = window.innerHeight + window.scrollY >= document.documentElement.scrollHeight - 2;
    let here = ended && window.scrollY > 0 ? pages.length - 1 : 0;
    if (!ended) pages.forEach((page, index) => { if (page.getBoundingClientRect().top <= foot) here = index; });
    links.forEach((link, index) => {
      if (index !== here) return link.removeAttribute("aria-current");
      if (link.hasAttribute("aria-current")) return;
      link.setAttribute("aria-current", "true");
      const list = byId("contents");
      list.scrollLeft = link.offsetLeft - (list.clientWidth - link.offsetWidth) / 2;
    });
  };
  addEventListener("scroll", mark, { passive: true });
  addEventListener("resize", mark);
  mark();

  const source = byId("turn-data");
  if (!source) return;
  const data = JSON.parse(source.textContent);
  const slider = byId("angle"), chosen = byId("cylinder"), pin = byId("pin");
  const engine = document.querySelector("#engine svg"), near = document.querySelector("#near svg");
  const caption = document.querySelector("#engine figcaption");
  const CYCLE = 720, LAST = data.first + CYCLE;
  let angle = 0; // crank degrees, as the slider counts them, with what a drag has left over
  let cylinder = data.cylinders[0];
  let port = "intake"; // which valve is shown from near

  const placeOf = () => Math.round(angle) - data.first;
  const wrapped = (value) => (value > LAST ? value - CYCLE : value < data.first ? value + CYCLE : value);

  // The point of the picture where one that moves stands.
  const where = (point, place) => {
    let [x, y] = point.at;
    for (const [name, across, down] of point.ways) {
      const value = data.numbers[name][place] / data.fineness[name];
      x += value * across;
      y += value * down;
    }
    return [x, y];
  };

  // The one turn, size and shift that carry two drawn points to where they stand now.
  const carried = ([[ax, ay], [bx, by]], [cx, cy], [dx, dy]) => {
    const u = bx - ax, v = by - ay, p = dx - cx, q = dy - cy, whole = u * u + v * v;
    const a = (p * u + q * v) / whole, b = (q * u - p * v) / whole;
    return [a, b, -b, a, cx - a * ax + b * ay, cy - b * ax - a * ay];
  };

  const known = (value) => value !== null && value !== undefined;
  const span = (kind, text) => {
    const one = document.createElement("span");
    one.className = kind;
    one.textContent = text;
    return one;
  };
  const units = [["mm", 1, 2], ["in", 25.4, 3]];
  if (data.units === "in") units.reverse();
  const length = (row, place) => {
    const value = row && row[place], cell = document.createDocumentFragment();
    if (!known(value)) cell.append("not known");
    else for (const [unit, size, places] of units) {
      cell.append(span(`u-${unit}`, `${(value / data.per_mm / size).toFixed(places).replace(/^-(0\.?0*)$/, "$1")} ${unit}`), " ");
    }
    return cell;
  };
  const degrees = (value) =>
    Math.abs(value) < 0.05 ? "at overlap" : `${Math.abs(value).toFixed(0)}° ${value > 0 ? "after" : "before"}`;
  const valveOf = (which) => (known(cylinder.valves[which]) ? data.valves[cylinder.valves[which]] : null);
  const clearanceOf = (valve) => valve && valve[valve.on];
  const HOW = { drop: "along the stem", gap: "straight gap" };

  const moveTo = (element, x, y) => element.setAttribute("transform", `translate(${x.toFixed(4)} ${y.toFixed(4)})`);

  const least = (row, of, how = "") => {
    row.replaceChildren();
    if (!of) return;
    row.append(`${how}least `);
    for (const [unit] of units) row.append(span(`u-${unit}`, of[unit]), " ");
    row.append(`${of.at} `, span("word", of.word));
  };

  const showNumbers = (place) => {
    for (const which of ["intake", "exhaust"]) {
      const valve = valveOf(which), tile = byId(`number-${which}`);
      tile.querySelector(".large").replaceChildren(length(clearanceOf(valve), place));
      const how = known(clearanceOf(valve) && clearanceOf(valve)[place]) ? `${HOW[valve.on]}; ` : "";
      least(tile.querySelector(".least"), valve && valve.least, how);
    }
    const pair = byId("number-between"), own = cylinder.own[place], rests = cylinder.rests;
    pair.querySelector(".large").replaceChildren(length(cylinder.between, place));
    least(pair.querySelector(".least"), cylinder.least);
    const crank = byId("number-crank"), after = own > 0 ? own - 360 : own + 360;
    crank.querySelector(".of").textContent = `crank, from ${cylinder.name}'s overlap`;
    crank.querySelector(".large").textContent = degrees(own);
    const compression = Math.abs(after) < 0.05 ? "at compression" : `${degrees(after)} compression`;
    const resting = rests && rests[0] < after && after < rests[1] ? "; adjusters may be set" : "";
    crank.querySelector(".least").textContent = Math.abs(own) > 180 ? `${compression} top centre${resting}` : "";
  };

  const showNear = (place) => {
    const valve = valveOf(port), drawn = valve && valve.near, told = byId("near-told");
    all("g[id^='near-']", near).forEach((group) => group.setAttribute("visibility", "hidden"));
    byId("near-gap").replaceChildren(length(clearanceOf(valve), place));
    told.textContent = `${cylinder.name} ${port}: not drawn, its place over the piston is not known`;
    const size = near.getBoundingClientRect().width, [x, y] = [data.near_middle, data.near_middle];
    const wide = size / (6 * scaleOf(engine) * data.scale); // mm of the engine that the round shows
    let seen = [x, y];
    if (drawn) {
      const lift = valve.lift[place] / data.per_mm, gap = valve.drop && valve.drop[place];
      const [across, down] = drawn.opens, show = (name) => byId(`near-${drawn.place}-${name}`);
      moveTo(show("valve"), lift * across, lift * down);
      moveTo(show("crown"), 0, cylinder.below[place] / data.per_mm);
      show("valve").setAttribute("visibility", "visible");
      show("crown").setAttribute("visibility", known(gap) ? "visible" : "hidden");
      const on = lift + Math.max(0, Math.min(known(gap) ? gap / data.per_mm / 2 : 0, wide / 4));
      const aside = Math.sign(drawn.aside) * Math.max(0, Math.abs(drawn.aside) - 0.3 * wide);
      seen = [x + on * across + aside * down, y + on * down - aside * across];
      const how = drawn.to_scale
        ? "cut through its stem"
        : "not to scale";
      told.textContent = `${cylinder.name} ${port}, ${known(gap) ? HOW[valve.on] : "drop not known at this angle"}; ${how}`;
    }
    const box = [seen[0] - wide / 2, seen[1] - wide / 2, wide, wide];
    near.setAttribute("viewBox", box.map((one) => one.toFixed(4)).join(" "));
  };

  const showTrace = (place) => {
    all("#traces > div").forEach((one) => { one.hidden = one.dataset.cylinder !== cylinder.name; });
    byId("no-trace").hidden = known(cylinder.trace);
    if (!known(cylinder.trace)) return;
    const frame = data.traces[cylinder.trace], own = cylinder.own[place], on = Math.abs(own) <= frame.half;
    const cursor = byId(`trace-${cylinder.trace}-cursor`);
    cursor.setAttribute("visibility", on ? "visible" : "hidden");
    moveTo(cursor, own * frame.degree, 0);
    for (const which of ["intake", "exhaust"]) {
      const valve = valveOf(which), dot = byId(`trace-${cylinder.trace}-${cylinder.name}.${which}`);
      if (!dot) continue;
      const drop = valve.drop[place] / data.per_mm;
      const inside = on && known(valve.drop[place]) && drop >= frame.low && drop <= frame.high;
      dot.setAttribute("visibility", inside ? "visible" : "hidden");
      moveTo(dot, own * frame.degree, -drop * frame.mm);
    }
  };

  // Pixels of the screen to a unit of a drawing, and where a point of it stands on the screen.
  const scaleOf = (drawing) => drawing.getScreenCTM().a;
  const onScreen = (drawing, [x, y]) => new DOMPoint(x, y).matrixTransform(drawing.getScreenCTM());
  const onDrawing = (drawing, event) =>
    new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());

  const showPin = (place) => {
    pin.hidden = !cylinder.pin;
    if (!cylinder.pin) return;
    const at = onScreen(engine, where(cylinder.pin, place)), frame = byId("engine").getBoundingClientRect();
    pin.style.left = `${at.x - frame.left}px`;
    pin.style.top = `${at.y - frame.top}px`;
    pin.setAttribute("aria-label", `crank pin of ${cylinder.name}: drag it round its circle`);
  };

  const show = () => {
    const place = placeOf(), now = Math.round(angle);
    const said = data.cylinders.slice(0, 1).concat(cylinder === data.cylinders[0] ? [] : [cylinder])
      .map((one) => `${Math.abs(one.own[place]) < 0.05 ? "at" : degrees(one.own[place])} ${one.name}'s overlap top centre`).join(", ");
    caption.textContent = `${data.caption[0]}${said}${data.caption[1]}`;
    byId("angle-shown").textContent = `${now}°`;
    slider.value = now;
    for (const one of [slider, pin]) {
      one.setAttribute("aria-valuetext", said);
      one.setAttribute("aria-valuenow", now);
    }
    data.parts.forEach((part, index) => {
      const matrix = carried(part.drawn, where(part.from, place), where(part.to, place));
      byId(`part-${index}`).setAttribute("transform", `matrix(${matrix.map((one) => one.toFixed(5)).join(" ")})`);
    });
    data.valves.forEach((valve, index) => {
      const cells = byId(`valve-${index}`).querySelectorAll("td > span");
      cells[0].textContent = degrees(data.cylinders[valve.cylinder].own[place]);
      [valve.lift, valve.drop, valve.gap].forEach((row, column) => cells[column + 1].replaceChildren(length(row, place)));
    });
    data.cylinders.forEach((one, index) => byId(`below-${index}`).replaceChildren(length(one.below, place)));
    showNumbers(place);
    showTrace(place);
    showNear(place);
    showPin(place);
    byId("closest-intake").disabled = !(valveOf("intake") && known(valveOf("intake").closest));
    byId("closest-exhaust").disabled = !(valveOf("exhaust") && known(valveOf("exhaust").closest));
  };

  const turnTo = (value) => { angle = wrapped(value); show(); };
  const choose = (index) => { cylinder = data.cylinders[index]; chosen.value = String(index); };
  const showPort = (which) => { port = which; byId(`near-is-${which}`).checked = true; };

  // A drag of the pin turns the crank by as much as the pointer went round the crank's centre.
  const dragged = (surface, start, move) => {
    surface.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      surface.setPointerCapture(event.pointerId);
      start(event);
    });
    surface.addEventListener("pointermove", (event) => { if (surface.hasPointerCapture(event.pointerId)) move(event); });
  };
  let before = 0;
  const round = (event) => {
    const at = onDrawing(engine, event);
    return (Math.atan2(at.y - cylinder.pin.at[1], at.x - cylinder.pin.at[0]) * 180) / Math.PI;
  };
  const clockwise = (() => {
    const turning = data.cylinders.find((one) => one.pin);
    if (!turning) return 1;
    const [first, second] = [0, 1].map((place) => where(turning.pin, place).map((one, axis) => one - turning.pin.at[axis]));
    return Math.sign(first[0] * second[1] - first[1] * second[0]);
  })();
  dragged(pin, (event) => { before = round(event); }, (event) => {
    const now = round(event), turned = ((now - before + 540) % 360) - 180;
    before = now;
    turnTo(angle + clockwise * turned);
  });
  all("#traces > div").forEach((surface) => {
    const drawing = surface.querySelector("svg");
    const set = (event) => {
      const frame = data.traces[cylinder.trace];
      const own = (onDrawing(drawing, event).x - frame.middle) / frame.degree;
      const wanted = Math.max(-frame.half, Math.min(frame.half, own));
      turnTo(Math.round(wrapped(wanted - cylinder.own[-data.first])));
    };
    dragged(surface, set, set);
  });

  slider.addEventListener("input", () => turnTo(Number(slider.value)));
  const STEPS = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 };
  pin.addEventListener("keydown", (event) => {
    if (!(event.key in STEPS)) return;
    event.preventDefault();
    turnTo(Math.round(angle) + STEPS[event.key]);
  });
  all("button[data-step]").forEach((button) =>
    button.addEventListener("click", () => turnTo(Math.round(angle) + Number(button.dataset.step))));
  for (const which of ["intake", "exhaust"]) {
    byId(`closest-${which}`).addEventListener("click", () => {
      showPort(which);
      turnTo(valveOf(which).closest + data.first);
    });
    byId(`near-is-${which}`).addEventListener("change", () => { port = which; show(); });
  }
  all("button[data-set]").forEach((button) => button.addEventListener("click", () => {
    choose(Number(button.dataset.set));
    turnTo(cylinder.set + data.first);
  }));
  chosen.addEventListener("change", () => { choose(Number(chosen.value)); show(); });

  document.body.classList.add("turned");
  all("#turning [data-turns], #readings").forEach((one) => { one.hidden = false; });
  byId("still").hidden = true;
  show();
  new ResizeObserver(show).observe(byId("turning"));
})();
