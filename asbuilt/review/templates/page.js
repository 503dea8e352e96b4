"use strict";
(async () => {
  const read = (id) => JSON.parse(document.getElementById(id).textContent);
  const data = read("joints-data");
  const columns = Object.fromEntries(Object.entries(data.columns).map(([name, texts]) => [name, texts.of ? texts.at.map((at) => texts.of[at]) : texts]));
  const count = data.distance.length;
  const by = (id) => document.getElementById(id);
  const [plots, slider, card, said] = ["plots", "joint", "card", "said"].map(by);
  const tails = { hundreds: 2, thousands: 3, decimal: 0 };

  await Bokeh.embed.embed_item(read("plots-data"), "plots");
  const shown = Bokeh.documents[0];
  const find = (name) => shown.get_model_by_name(name);
  const all = (name) => [...shown._all_models.values()].filter((model) => model.name === name);
  const joints = find("joints").data;
  const picked = find("picked");
  const figures = { deflection: ["distance", "drawn"], plan: ["east", "north"], profile: ["distance", "elevation"] };

  // Stations, written anew as the view changes; they do not run evenly over an equation.
  const station = (value) => {
    const digits = tails[data.form];
    const whole = Math.round(Math.abs(value));
    const sign = value < 0 ? "-" : "";
    if (!digits) return sign + whole;
    const unit = 10 ** digits;
    return `${sign}${Math.floor(whole / unit)}+${String(whole % unit).padStart(digits, "0")}`;
  };
  const ticks = (start, end, most) => {
    const scale = Math.min(...data.pieces.map(([from, to, first, last]) => (to - from) / (last - first || 1)));
    const apart = 0.6 * (end - start) / most;
    let step = 1;
    for (let at = 0; (end - start) / (step * scale) > most && at < 30; at += 1) step *= at % 3 === 1 ? 2.5 : 2;
    const places = [];
    const names = new Map();
    for (const [from, to, first, last] of data.pieces) {
      const ratio = (to - from) / (last - first || 1);
      for (let value = Math.ceil(first / step - 1e-9) * step; value <= last + 1e-6; value += step) {
        const place = from + (value - first) * ratio;
        if (place < start || place > end) continue;
        // At an equation a station ahead of it may lie close upon one back of it.
        if (places.length && value < first + step && place - places[places.length - 1] < apart) continue;
        places.push(place);
        names.set(place, station(value));
      }
    }
    return [places, names];
  };
  const axes = all("stations");
  const along = find("deflection").x_range;
  const writeStations = () => {
    const most = Math.max(3, Math.floor(plots.clientWidth / 85));
    const [places, names] = ticks(along.start, along.end, most);
    for (const axis of axes) {
      axis.ticker.ticks = places;
      axis.major_label_overrides = names;
    }
  };
  const profile = find("profile");
  const elevation = profile.title.text;
  const elevated = profile.visible;
  const stateExaggeration = () => {
    const [width, height] = [profile.inner_width, profile.inner_height];
    if (!elevated || !width || !height) return;
    const across = (profile.x_range.end - profile.x_range.start) / width;
    const up = (profile.y_range.end - profile.y_range.start) / height;
    const times = across / up;
    const said = times >= 10 ? Math.round(times) : Number(times.toFixed(1));
    profile.title.text = `${elevation} drawn ${said} times${width < 420 ? "" : " (vertical exaggeration)"}`;
  };

  // Names in the plots: none on another, none over the edge.
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = "11px helvetica";
  const type = { size: 11, width: (text) => 4 + Math.max(...text.split("\n").map((line) => pen.measureText(line).width)) };
  const screen = (range, size) => {
    const scale = size / (range.end - range.start);
    return [(value) => (value - range.start) * scale, (pixel) => range.start + pixel / scale];
  };
  // A plot is drawn anew only if its names have changed.
  const put = (source, data) => {
    if (JSON.stringify(source.data) !== JSON.stringify(data)) source.data = data;
  };
  const nameBends = (plot) => {
    const [bends, names] = [find(`${plot.name} bends`), find(`${plot.name} bend names`)];
    if (!bends) return;
    const width = plot.inner_width;
    const [pixel, place] = screen(plot.x_range, width);
    const { across, up, text } = bends.data;
    const inside = [...across.keys()].filter((at) => pixel(across[at]) >= 0 && pixel(across[at]) <= width);
    const texts = inside.map((at) => text[at]);
    const groups = labels.gathered(inside.map((at) => pixel(across[at])), texts, type, [0, width]);
    // Under everything along its width, or the pipe would run through it.
    const lowest = ([group, centre, half]) => {
      let low = Math.min(...group.map((at) => up[inside[at]]));
      if (plot !== profile) return low;
      const [from, to] = [place(centre - half), place(centre + half)];
      for (let at = 0; at < count; at += 1) {
        if (joints.distance[at] >= from && joints.distance[at] <= to && joints.elevation[at] < low) low = joints.elevation[at];
      }
      return low;
    };
    // Its own place to the last digit, so that a pan alone changes nothing.
    const middle = ([group, centre]) => {
      const between = (across[inside[group[0]]] + across[inside[group[group.length - 1]]]) / 2;
      return Math.abs(pixel(between) - centre) < 1e-6 ? between : place(centre);
    };
    put(names, {
      across: groups.map(middle),
      up: groups.map(lowest),
      text: groups.map(([group]) => labels.together(group.map((at) => texts[at]))),
    });
  };
  const nameInPlan = () => {
    const [plot, places, names] = [find("plan"), find("plan places"), find("plan names")];
    if (!places) return;
    const [width, height] = [plot.inner_width, plot.inner_height];
    const [[across], [along]] = [screen(plot.x_range, width), screen(plot.y_range, height)];
    const { east, north, right, up, text, kind } = places.data;
    // The corner of the north arrow is taken.
    const drawn = find("plan line").data;
    const line = labels.thinned([...drawn.across.keys()].map((at) => [across(drawn.across[at]), along(drawn.up[at])]), 2);
    const frame = { edge: [0, width, 0, height], taken: [[0, 60, height - 60, height]], line };
    const written = { east: [], north: [], text: [], right: [], down: [], across: [], baseline: [] };
    const on = (at) => [across(east[at]), along(north[at])];
    const write = (group) => {
      const at = group[Math.floor(group.length / 2)];
      const said = labels.together(group.map((one) => text[one]));
      const way = labels.findRoom(frame, on(at), [right[at], up[at]], said, type, 9, kind[at] === "bend");
      if (!way) return;
      const [set, base] = labels.alignment(way);
      const row = [east[at], north[at], said, 9 * way[0], -9 * way[1], set, base === "center" ? "middle" : base];
      Object.values(written).forEach((column, number) => column.push(row[number]));
    };
    const inView = (at) => {
      const [x, y] = on(at);
      return x >= 0 && x <= width && y >= 0 && y <= height;
    };
    const groups = [];
    for (let at = 0; at < east.length; at += 1) {
      if (!inView(at)) continue;
      const last = groups[groups.length - 1];
      const before = last && last[last.length - 1];
      const near = last && kind[at] === "bend" && kind[before] === "bend" && labels.near(on(at), on(before), type.size);
      if (near) last.push(at); else groups.push([at]);
    }
    groups.forEach(write);
    put(names, written);
  };
  const equations = [...shown._all_models.values()].filter((model) => model.tags.includes("equation"));
  const setEquations = () => {
    const width = find("deflection").inner_width;
    const [pixel] = screen(along, width);
    const ordered = [...equations].sort((one, other) => one.x - other.x);
    const long = ordered.map((label) => type.width(label.text) + 7);
    const beyond = ordered.map((label, at) => pixel(label.x) + long[at] > width && pixel(label.x) - long[at] > 0);
    const spans = ordered.map((label, at) => [pixel(label.x) - (beyond[at] ? long[at] : 0), pixel(label.x) + (beyond[at] ? 0 : long[at])]);
    labels.rows(spans).forEach((row, at) => {
      const label = ordered[at];
      label.text_align = beyond[at] ? "right" : "left";
      label.x_offset = beyond[at] ? -7 : 7;
      label.y_offset = -4 - 2.6 * type.size * row;
    });
  };
  // The plan has equal scales, whatever the shape of its frame.
  const plan = find("plan");
  const around = (range, middle, half) => { range.start = middle - half; range.end = middle + half; };
  const planWhole = [plan.x_range, plan.y_range].map((range) => [(range.start + range.end) / 2, (range.end - range.start) / 2]);
  let planIsWhole = true;
  const showInPlan = (east, north, half) => {
    around(plan.x_range, east, half);
    around(plan.y_range, north, half * plan.inner_height / plan.inner_width);
    planIsWhole = false;
  };
  const fitPlan = () => {
    const [[east, across], [north, up]] = planWhole;
    showInPlan(east, north, Math.max(across, up * plan.inner_width / plan.inner_height));
    planIsWhole = true;
  };
  const shapePlan = () => {
    if (!plan.inner_width || !plan.inner_height) return;
    if (planIsWhole) { fitPlan(); return; }
    const middle = (range) => (range.start + range.end) / 2;
    showInPlan(middle(plan.x_range), middle(plan.y_range), (plan.x_range.end - plan.x_range.start) / 2);
  };
  const seen = () => {
    writeStations();
    stateExaggeration();
    if ((elevated && !profile.inner_width) || !plan.inner_width) return;
    nameBends(find("deflection"));
    if (elevated) nameBends(profile);
    nameInPlan();
    setEquations();
  };
  // A pan or a zoom changes several ranges many times: once for each picture is enough.
  let waiting = false;
  const look = () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; seen(); });
  };
  for (const range of [along, profile.y_range, plan.x_range, plan.y_range]) range.change.connect(look);
  // Bokeh does not say when it has laid a plot out anew, so its size is looked at.
  let size = "";
  setInterval(() => {
    const now = [profile, plan].map((plot) => `${plot.inner_width} ${plot.inner_height}`).join() + plots.clientWidth;
    if (now === size) return;
    size = now;
    shapePlan();
    seen();
  }, 200);

  // Light and dark: the plots take the page's own ink and paper.
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const ink = () => {
    const style = getComputedStyle(document.documentElement);
    const [paper, line, text, soft] = ["--raised", "--line", "--ink", "--soft"]
      .map((name) => style.getPropertyValue(name).trim());
    const set = (model, values) => {
      for (const [name, value] of Object.entries(values)) if (name in model.properties) model[name] = value;
    };
    for (const model of shown._all_models.values()) {
      if (model.type === "Figure") set(model, { background_fill_color: paper, border_fill_color: paper, outline_line_color: null });
      else if (model.type === "LinearAxis") set(model, { axis_label_text_color: soft, major_label_text_color: soft, axis_line_color: soft, major_tick_line_color: soft, minor_tick_line_color: null });
      else if (model.type === "Grid") set(model, { grid_line_color: line });
      else if (model.type === "Title") set(model, { text_color: text });
      else if (model.type === "ScaleBar") set(model, { label_text_color: text });
      const named = { ink: text, paper: paper, north: text }[model.name];
      if (!named) continue;
      const glyphs = model.type === "GlyphRenderer" ? [model.glyph] : [model];
      for (const glyph of glyphs) {
        for (const name of ["line_color", "text_color"]) {
          if (!(name in glyph.properties)) continue;
          glyph[name] = model.type === "GlyphRenderer" ? { value: named } : named;
        }
      }
    }
  };
  dark.addEventListener("change", ink);
  ink();

  // The joint at the mark.
  const columnOf = (name) => columns[name] || [];
  const toLookAt = data.worst;
  const rows = new Map();
  const noteRow = (row) => {
    const at = Number(row.dataset.joint);
    if (!rows.has(at)) rows.set(at, []);
    rows.get(at).push(row);
  };
  document.querySelectorAll("tr[data-joint]").forEach(noteRow);
  let current = -1;
  let kept = false;
  let speaking = 0;
  const sentence = (at) => {
    const parts = [`Joint ${columns.Joint[at]} at ${columns.Station[at]}: ${data.words[columns.verdict[at]]}`];
    const deflection = columnOf("Deflection, deg")[at];
    if (deflection) parts.push(`deflection ${deflection} degrees`);
    const allowable = columnOf("Allowable, deg")[at];
    if (allowable) parts.push(`allowable ${allowable}`);
    const findings = data.findings[at];
    if (findings) parts.push(`${findings.length} finding${findings.length > 1 ? "s" : ""}: ${findings.join("; ")}`);
    return parts.join(", ");
  };
  const fill = (at) => {
    card.replaceChildren();
    for (const [name, values] of Object.entries(columns)) {
      if (!values[at]) continue;
      const pair = document.createElement("div");
      const [term, value] = ["dt", "dd"].map((tag) => document.createElement(tag));
      term.textContent = name === "verdict" ? "Verdict" : name;
      value.textContent = name === "verdict" ? data.words[values[at]] : values[at];
      pair.append(term, value);
      card.append(pair);
    }
    by("card-findings").replaceChildren(...(data.findings[at] || []).map((text) => {
      const item = document.createElement("li");
      item.textContent = text;
      return item;
    }));
    const photos = document.querySelector(`[data-photos-of="${at}"]`);
    by("card-photos").replaceChildren(...(photos ? [...photos.children].slice(1).map((one) => one.cloneNode(true)) : []));
  };
  // The joint's card at the cursor.
  const tip = by("tip");
  let pointer = [0, 0];
  const hideTip = () => { tip.hidden = true; };
  const showTip = (at) => {
    if (at < 0) { hideTip(); return; }
    const lines = [
      `Joint ${columns.Joint[at]} at ${columns.Station[at]}`,
      [data.words[columns.verdict[at]], columnOf("Deflection, deg")[at] && `${columnOf("Deflection, deg")[at]} deg`, columnOf("Allowable, deg")[at] && `allowable ${columnOf("Allowable, deg")[at]}`].filter(Boolean).join(", "),
      ...(data.findings[at] || []).slice(0, 3),
    ];
    tip.replaceChildren(...lines.map((text) => {
      const line = document.createElement("p");
      line.textContent = text;
      return line;
    }));
    tip.hidden = false;
    const [wide, high] = [tip.offsetWidth, tip.offsetHeight];
    const across = pointer[0] + 16 + wide > innerWidth ? pointer[0] - 16 - wide : pointer[0] + 16;
    const down = pointer[1] + 16 + high > innerHeight ? pointer[1] - 16 - high : pointer[1] + 16;
    tip.style.left = `${Math.max(4, across)}px`;
    tip.style.top = `${Math.max(4, down)}px`;
  };
  plots.addEventListener("pointermove", (event) => { pointer = [event.clientX, event.clientY]; }, { capture: true });
  plots.addEventListener("mouseleave", hideTip);
  addEventListener("scroll", hideTip, { passive: true });

  const show = (at) => {
    if (at === current || !(at >= 0 && at < count)) return;
    for (const row of rows.get(current) || []) row.classList.remove("marked");
    current = at;
    const one = {};
    for (const name of Object.keys(picked.data)) one[name] = [joints[name][at]];
    picked.data = one;
    for (const row of rows.get(at) || []) row.classList.add("marked");
    fill(at);
    slider.value = at;
    const words = sentence(at);
    slider.setAttribute("aria-valuetext", words);
    clearTimeout(speaking);
    speaking = setTimeout(() => { said.textContent = words; }, 250);
  };

  // Pointing: the nearest joint on the screen, so that a finger need not hit a mark.
  const nearest = (name, event) => {
    const plot = find(name);
    const [across, up] = figures[name].map((column) => joints[column]);
    const wide = (plot.x_range.end - plot.x_range.start) / plot.inner_width;
    const high = (plot.y_range.end - plot.y_range.start) / plot.inner_height;
    let best = -1;
    let least = name === "plan" ? 40 : 60;
    for (let at = 0; at < count; at += 1) {
      const x = Math.abs(across[at] - event.x) / wide;
      if (x > least) continue;
      const y = Math.abs(up[at] - event.y) / high;
      // Along the route the station decides, and the height only between neighbours.
      const away = name === "plan" ? Math.hypot(x, y) : x + 0.02 * (Number.isFinite(y) ? y : 0);
      if (away < least) [best, least] = [at, away];
    }
    return best;
  };
  for (const name of Object.keys(figures)) {
    const plot = find(name);
    plot.on_event("mousemove", (event) => {
      const at = nearest(name, event);
      if (!kept) show(at);
      showTip(at);
    });
    plot.on_event("tap", (event) => {
      const at = nearest(name, event);
      if (at < 0) return;
      kept = true;
      show(at);
    });
  }
  // The view: one stretch of the route in all three plots; the plan follows the joint in the middle of it.
  const wholeAlong = [along.start, along.end];
  const length = data.distance[count - 1] - data.distance[0] || 1;
  const seeWhole = () => { [along.start, along.end] = wholeAlong; fitPlan(); };
  const nearestAlong = (distance) => {
    let best = 0;
    for (let at = 1; at < count; at += 1) if (Math.abs(data.distance[at] - distance) < Math.abs(data.distance[best] - distance)) best = at;
    return best;
  };
  const see = (middle, half) => {
    const [start, end] = wholeAlong;
    if (half >= (end - start) / 2) { seeWhole(); return; }
    const within = Math.max(start + half, Math.min(end - half, middle));
    around(along, within, half);
    const at = nearestAlong(within);
    showInPlan(joints.east[at], joints.north[at], half);
  };
  const zoom = (times) => {
    const half = Math.max((along.end - along.start) / 2 / times, length / count);
    const middle = (along.start + along.end) / 2;
    // The joint at the mark stays in sight.
    const kept = current >= 0 && times > 1 && data.distance[current] >= along.start && data.distance[current] <= along.end;
    see(kept ? data.distance[current] : middle, half);
  };
  const move = (part) => see((along.start + along.end) / 2 + part * (along.end - along.start), (along.end - along.start) / 2);
  by("in").addEventListener("click", () => zoom(2));
  by("out").addEventListener("click", () => zoom(0.5));
  by("back").addEventListener("click", () => move(-0.5));
  by("on").addEventListener("click", () => move(0.5));
  by("whole").addEventListener("click", seeWhole);
  by("closer").addEventListener("click", () => {
    const [from, to] = [Math.max(0, current - 10), Math.min(count - 1, current + 10)];
    const half = Math.max(0.6 * (data.distance[to] - data.distance[from]), 1);
    around(along, data.distance[current], half);
    showInPlan(joints.east[current], joints.north[current], half);
  });
  const go = (at) => { kept = true; show(Math.max(0, Math.min(count - 1, at))); };
  const keys = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10, Home: -count, End: count };
  const views = { "+": () => zoom(2), "=": () => zoom(2), "-": () => zoom(0.5), 0: seeWhole };
  // After a click on anything of the page that needs no arrow keys itself.
  document.addEventListener("keydown", (event) => {
    const idle = event.target === document.body || event.target === by("main") || event.target.closest(".pick, .steps");
    if (!idle || (event.key !== "ArrowLeft" && event.key !== "ArrowRight") || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    go(current + keys[event.key]);
  });
  plots.addEventListener("keydown", (event) => {
    if (event.target !== plots) return;
    if (event.key in views && !event.ctrlKey && !event.metaKey) { event.preventDefault(); views[event.key](); return; }
    if (!(event.key in keys)) return;
    event.preventDefault();
    go(current + keys[event.key]);
  });
  slider.addEventListener("keydown", (event) => {
    // Ten at a time whatever the number of joints; a browser would take a tenth of them.
    if (event.key !== "PageUp" && event.key !== "PageDown") return;
    event.preventDefault();
    go(current + keys[event.key]);
  });
  document.addEventListener("keydown", (event) => { if (event.key === "Escape") kept = false; });
  slider.addEventListener("input", () => go(Number(slider.value)));
  by("before").addEventListener("click", () => go(current - 1));
  by("after").addEventListener("click", () => go(current + 1));
  by("next").disabled = !toLookAt.length;
  by("next").addEventListener("click", () => go(toLookAt[(toLookAt.indexOf(current) + 1) % toLookAt.length]));

  // The plots stay in sight, if that is wanted: those of the deflections, at the top of the window.
  const holder = by("holder");
  const hold = () => {
    const away = by("keep").getAttribute("aria-pressed") === "true" && holder.getBoundingClientRect().bottom < 0;
    if (away === plots.classList.contains("aloft")) return;
    holder.style.height = away ? `${plots.offsetHeight}px` : "";
    plots.classList.toggle("aloft", away);
  };
  by("keep").addEventListener("click", () => {
    by("keep").setAttribute("aria-pressed", by("keep").getAttribute("aria-pressed") === "true" ? "false" : "true");
    hold();
  });
  addEventListener("scroll", hold, { passive: true });
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button.pick");
    if (button) go(Number(button.closest("tr").dataset.joint));
  });

  // The table of all joints is made when it is asked for.
  const details = by("all");
  details.addEventListener("toggle", () => {
    const place = details.querySelector(".scroll");
    if (!details.open || place.firstChild) return;
    const table = document.createElement("table");
    table.createCaption().textContent = "All joints in order along the route";
    const names = Object.keys(columns);
    names.splice(names.indexOf("Station"), 1);
    names.unshift("Station");
    table.setAttribute("role", "table");
    table.createTHead().setAttribute("role", "rowgroup");
    const head = table.tHead.insertRow();
    head.setAttribute("role", "row");
    for (const name of names) {
      const cell = document.createElement("th");
      cell.scope = "col";
      cell.setAttribute("role", "columnheader");
      cell.textContent = name === "verdict" ? "Verdict" : name;
      head.append(cell);
    }
    // Rows are written as text: a call for each of a hundred thousand cells takes many times as long.
    const written = (text) => String(text).replace(/[&<>"]/g, (letter) => `&#${letter.charCodeAt(0)};`);
    const cellOf = (name, at) => {
      const text = written(name === "verdict" ? data.words[columns[name][at]] : columns[name][at]);
      if (name !== "Station") return `<td role="cell">${text}</td>`;
      return `<th scope="row" role="rowheader"><button type="button" class="pick">${text}</button></th>`;
    };
    const rowOf = (at) => `<tr role="row" data-joint="${at}">${names.map((name) => cellOf(name, at)).join("")}</tr>`;
    place.append(table);
    // Widths are set by the longest text of each column, so that no row need be measured.
    const longest = table.createTBody().insertRow();
    for (const name of names) {
      const texts = name === "verdict" ? Object.values(data.words) : columns[name];
      longest.insertCell().textContent = texts.reduce((one, other) => (other.length > one.length ? other : one), "");
    }
    const widths = [...head.cells].map((cell) => Math.ceil(cell.getBoundingClientRect().width) + 6);
    longest.parentElement.remove();
    const style = document.createElement("style");
    style.textContent = `@media screen {${widths.map((width, at) => `#all .even tr > :nth-child(${at + 1}) { width: ${width}px; }`).join("")}}`;
    table.before(style);
    table.style.setProperty("--wide", `${widths.reduce((one, other) => one + other, 0)}px`);
    table.classList.add("even");
    // In pieces, so that the first rows stand there at once; what is out of sight the browser need not lay out. The first
    // piece is laid out, whatever is in sight: a row's height is taken from it, and without heights all would be in sight.
    let done = 0;
    let high = 0;
    const piece = (most) => {
      const end = Math.min(count, done + most);
      const body = document.createElement("tbody");
      body.setAttribute("role", "rowgroup");
      if (high) body.style.containIntrinsicSize = `auto var(--wide) auto ${high * (end - done)}px`;
      else body.style.contentVisibility = "visible";
      let text = "";
      for (; done < end; done += 1) text += rowOf(done);
      body.innerHTML = text;
      for (const row of body.rows) noteRow(row);
      for (const row of rows.get(current) || []) row.classList.add("marked");
      table.append(body);
      high ||= body.getBoundingClientRect().height / body.rows.length;
      if (done === count) details.dataset.whole = "yes";
    };
    // By messages, which a busy browser does not put off as it does timers.
    const next = new MessageChannel();
    next.port1.onmessage = () => {
      if (done === count) return;
      piece(250);
      next.port2.postMessage(0);
    };
    addEventListener("beforeprint", () => { if (done < count) piece(count); }, { once: true });
    piece(100);
    // The first rows are painted before the rest is written.
    requestAnimationFrame(() => next.port2.postMessage(0));
  });

  const worst = document.querySelector("#to-act-on tr[data-joint], #over tr[data-joint]");
  show(worst ? Number(worst.dataset.joint) : toLookAt.length ? toLookAt[0] : 0);
  document.body.dataset.ready = "yes";
})();
