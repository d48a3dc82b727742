"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  const choice = byId("unit-choice");
  choice.hidden = false;
  choice.addEventListener("change", (event) => {
    document.body.classList.remove("only-mm", "only-in");
    if (event.target.value) document.body.classList.add(event.target.value);
  });
  byId("print").addEventListener("click", () => window.print());
  const source = byId("turn-data");
  if (!source) return;
  const data = JSON.parse(source.textContent);
  const slider = byId("angle");
  const caption = document.querySelector("#turning figcaption");

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

  const length = (value) => {
    const cell = document.createDocumentFragment();
    if (value === null || value === undefined) {
      cell.append("not known");
      return cell;
    }
    const mm = document.createElement("span"), inches = document.createElement("span");
    mm.className = "u-mm";
    mm.textContent = `${(value / data.per_mm).toFixed(2)} mm `;
    inches.className = "u-in";
    inches.textContent = `${(value / data.per_mm / 25.4).toFixed(3)} in`;
    cell.append(mm, inches);
    return cell;
  };

  const degrees = (value) =>
    Math.abs(value) < 0.05 ? "at overlap" : `${Math.abs(value).toFixed(0)}\u00b0 ${value > 0 ? "after" : "before"}`;

  const show = () => {
    const angle = Number(slider.value), place = angle - data.first;
    const top = `${data.cylinders[0].name}'s overlap top centre`;
    const said = angle === 0 ? `at ${top}` : `${degrees(angle)} ${top}`;
    caption.textContent = `${data.caption[0]}${said}${data.caption[1]}`;
    byId("angle-shown").textContent = `${angle}\u00b0`;
    slider.setAttribute("aria-valuetext", said);
    data.parts.forEach((part, index) => {
      const matrix = carried(part.drawn, where(part.from, place), where(part.to, place));
      byId(`part-${index}`).setAttribute("transform", `matrix(${matrix.map((one) => one.toFixed(5)).join(" ")})`);
    });
    data.valves.forEach((valve, index) => {
      const cells = byId(`valve-${index}`).querySelectorAll("td");
      const own = data.cylinders[valve.cylinder].own[place];
      cells[0].textContent = degrees(own);
      [valve.lift, valve.drop, valve.gap].forEach((row, column) => {
        cells[column + 1].replaceChildren(length(row && row[place]));
      });
    });
    data.cylinders.forEach((cylinder, index) => {
      const cells = byId(`cylinder-${index}`).querySelectorAll("td");
      cells[0].textContent = degrees(cylinder.own[place]);
      cells[1].replaceChildren(length(cylinder.below && cylinder.below[place]));
      if (cylinder.trace === null) return;
      const cursor = byId(`cursor-${cylinder.trace}`), own = cylinder.own[place];
      cursor.setAttribute("visibility", Math.abs(own) <= data.traces.half ? "visible" : "hidden");
      cursor.setAttribute("transform", `translate(${(own * data.traces.degree).toFixed(3)} 0)`);
    });
  };

  document.body.classList.add("turned");
  byId("controls").hidden = false;
  byId("readings").hidden = false;
  byId("still").hidden = true;
  slider.addEventListener("input", show);
  show();
})();
