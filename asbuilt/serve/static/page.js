"use strict";
// The search page: a question and its answer stand in the address, so that a link gives both. A page written to a file
// carries its answer with it, and asks nothing.
const frozen = document.getElementById("frozen") ? JSON.parse(document.getElementById("frozen").textContent) : null;
const $ = id => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg", EMPTY = {type: "FeatureCollection", features: []};
const NAMES = {near: "near", within: "within", route: "route", joint: "joint", from: "from station", to: "to station",
  size: "size", type: "joint type", kind: "kind", service: "main", tested: "pressure test", verdict: "deflection", "over-deg": "deflected by more than",
  finding: "finding", unmarked: "with a finding that nobody marked", inspector: "inspector", crew: "crew",
  since: "inspected since", until: "until", month: "inspected in", item: "item", "no-inspection": "without a dated inspection",
  "no-photo": "without a photo", job: "job", load: "load", column: "column of the log", nearest: "at most"};
const GONE = ["replaced", "abandoned", "surveyed-again"];
const FLAGS = ["unmarked", "no-inspection", "no-photo"];
const spoken = (name, value) => FLAGS.includes(name) ? value.toLowerCase() === "yes" ? NAMES[name] : `${name} ${value}` : name === "verdict" ? `${NAMES[name]} ${word(value)}`
  : name === "over-deg" ? `${NAMES[name]} ${value}\u00b0` : `${NAMES[name] || name} ${value}`;
let about = null, answer = null, map = null, chosen = null, asked = 0, whole = null, looked = false;
const EVERYWHERE = "around?bbox=-180,-90,180,90";

function part(name, kind, text) {
  const made = document.createElement(name);
  if (kind) made.className = kind;
  if (text !== undefined && text !== null) made.textContent = text;
  return made;
}
function sign(verdict) { return signOf(about.marks.find(mark => mark.verdict === verdict) || about.marks.at(-1)); }
function signOf(one) {
  const drawn = document.createElementNS(SVG, "svg"), path = document.createElementNS(SVG, "path");
  drawn.setAttribute("viewBox", "0 0 16 16");
  drawn.setAttribute("aria-hidden", "true");
  path.setAttribute("d", one.path);
  path.setAttribute("fill", one.filled ? one.color : "none");
  if (!one.filled) { path.setAttribute("stroke", one.color); path.setAttribute("stroke-width", "2.2"); }
  drawn.append(path);
  return drawn;
}
const onlyIf = assumed => assumed ? `, only if ${assumed.split(" ").map(one => about.conditions[one] || one).join(" and ")}` : "";
const word = verdict => (about.marks.find(mark => mark.verdict === verdict) || {word: verdict}).word;
const number = (value, digits) => value === null || value === undefined ? null : value.toFixed(digits);

// ---- the question
// What an address asks and no field can hold, such as a second route, stands below the fields and is asked again.
let besides = [], words = {item: {}};
const PAIRS = [["item", "item", "item-is"], ["column", "column", "column-is"]];
function question() {
  const given = new URLSearchParams();
  for (const [name, value] of new FormData($("question"))) if (value.trim()) given.append(name, value.trim());
  for (const [name, field, is] of PAIRS) if ($(field).value.trim()) given.append(name, `${$(field).value.trim()}=${$(is).value.trim()}`);
  for (const [name, value] of besides) given.append(name, value);
  return given;
}
// A tick box is asked for by its name alone, or with yes; what is neither yes nor no stays, and is refused with the reason.
function understood(given) {
  const read = new URLSearchParams();
  for (const [name, value] of given) {
    const said = value.trim().toLowerCase(), flag = FLAGS.includes(name);
    if (flag ? ["0", "no", "false"].includes(said) : !value) continue;
    read.append(name, flag && ["", "1", "true", "on"].includes(said) ? "yes" : value);
  }
  return read;
}
function fill(given) {
  const fields = $("question").elements, left = [...understood(given)].filter(([name]) => name !== "joint_uid");
  const take = name => { const at = left.findIndex(one => one[0] === name); return at < 0 ? "" : left.splice(at, 1)[0][1]; };
  for (const box of $("question").querySelectorAll("input[type=checkbox]")) {
    const at = left.findIndex(([name, value]) => name === box.name && value.toLowerCase() === box.value);
    box.checked = at >= 0;
    if (at >= 0) left.splice(at, 1);
  }
  for (const field of fields) if (field.name && field.type !== "checkbox") {
    const value = take(field.name);
    field.value = value;
    if (field.value !== value) { field.value = ""; left.push([field.name, value]); }
  }
  for (const [name, field, is] of PAIRS) {
    const value = take(name), at = value.indexOf("=");
    $(field).value = at < 0 ? "" : value.slice(0, at);
    $(is).value = at < 0 ? "" : value.slice(at + 1);
    if (value && !$(field).value) left.push([name, value]);
  }
  besides = left;
  showBesides();
  offerItem();
  mark();
}
function showBesides() {
  $("besides").replaceChildren(...besides.map(one => {
    const row = part("li"), drop = part("button", "", `${spoken(...one)} \u00d7`);
    drop.type = "button";
    drop.setAttribute("aria-label", `Leave out: ${spoken(...one)}`);
    drop.addEventListener("click", () => { besides = besides.filter(other => other !== one); showBesides(); ask(question(), true); });
    row.append(drop);
    return row;
  }));
}
const used = group => [...group.querySelectorAll("input, select")].some(field => field.type === "checkbox" ? field.checked : field.value);
function mark() { for (const group of $("question").querySelectorAll("details")) group.classList.toggle("used", used(group)); }
function offerItem() {
  $("item-words").replaceChildren(...(words.item[$("item").value] || []).map(value => Object.assign(part("option"), {value: value})));
}
function option(list, code, meaning) { list.append(Object.assign(part("option", "", meaning), {value: code})); }
function prepare() {
  for (const [code, meaning] of Object.entries(about.findings)) option($("question").elements.finding, code, meaning);
  for (const code of about.services) option($("question").elements.service, code, code.replace("-", " "));
  for (const code of about.tested) option($("question").elements.tested, code, code.replace("-", ", "));
  for (const [code, meaning] of Object.entries(about.items)) option($("item"), code, meaning);
  for (const verdict of Object.keys(about.verdicts)) {
    const row = part("label", "tick"), box = Object.assign(part("input"), {type: "checkbox", name: "verdict", value: verdict});
    row.append(box, sign(verdict), part("span", "", word(verdict)));
    $("verdicts").append(row);
  }
  for (const name of ["route", "size", "type", "kind", "inspector", "crew", "month", "job", "load", "column"])
    $("words").append(Object.assign(part("datalist"), {id: `${name}s`}));
  $("words").append(Object.assign(part("datalist"), {id: "item-words"}));
  $("item").addEventListener("change", offerItem);
  $("question").addEventListener("change", mark);
}
async function offer() {
  const got = await fetch("choices");
  if (!got.ok) return;
  words = await got.json();
  for (const [name, some] of Object.entries(words)) if (name !== "item")
    $(`${name}s`).replaceChildren(...some.map(value => Object.assign(part("option"), {value: value})));
  offerItem();
}
async function ask(given, keep) {
  const turn = ++asked;
  given = understood(given);
  chosen = given.get("joint_uid");
  // On a phone the answer stands below the map then, and no longer below the form.
  document.body.classList.toggle("answered", given.toString() !== "");
  if (keep) history.pushState(null, "", given.toString() ? `?${given}` : location.pathname);
  if (![...given.keys()].some(name => name !== "joint_uid")) {
    if (!chosen) { answer = null; tell(); overview(); return; }
    given = new URLSearchParams({joint: chosen});
  }
  $("said").className = "";
  $("said").textContent = "Looking ...";
  try {
    const got = await fetch(`find?${given}`);
    const body = await got.json();
    if (turn !== asked) return;
    if (!got.ok) throw new Error(body.error);
    answer = body;
    tell(given);
  } catch (error) {
    if (turn !== asked) return;
    answer = null;
    tell(given);
    $("said").className = "wrong";
    $("said").textContent = error.message || "The register does not answer; try again.";
  }
}

// ---- the answer
function tell(given) {
  $("joints").replaceChildren();
  $("doubtful").replaceChildren();
  $("said").textContent = "";
  $("said").className = "";
  const read = answer && answer.stations_read_as ? ["from", "to"] : [];
  const parts = given ? [...given].filter(([name]) => NAMES[name] && !read.includes(name)).map(one => spoken(...one)) : [];
  if (answer && answer.near) parts.push(answer.near.read_as);
  if (answer && answer.stations_read_as) parts.push(answer.stations_read_as);
  const now = answer ? ` (answered on ${new Date().toLocaleString("en-GB", {dateStyle: "long", timeStyle: "short"})})` : "";
  $("asked").textContent = frozen ? frozen.asked : parts.length ? `Asked: ${parts.join("; ")}${now}` : "";
  if (answer) {
    const more = answer.more ? `; the first ${answer.joints.length} are listed, ask more narrowly for the others` : "";
    const gone = Object.entries(answer.out_of_service).map(([state, many]) => `${many} ${state}`).join(" and ");
    const count = `${answer.count} ${answer.count === 1 ? "joint" : "joints"} found${gone ? `, of which ${gone}` : ""}`;
    $("said").textContent = answer.count ? `${count}${more}.`
      : "No joint of the register answers that.";
    const near = answer.nearest;
    if (near) $("said").textContent += ` The nearest that would is ${near.route} ${near.joint}, ` +
      `${near.away.toFixed(1)} ${answer.away_symbol} away.`;
    if (answer.shared_words) $("said").textContent += ` As to ${answer.shared_words}.`;
    if (answer.unknown) $("said").textContent += ` But ${answer.unknown}${answer.unknown.endsWith("?") ? "" : "."}`;
    if (answer.may_be_over) $("said").textContent += ` But ${answer.may_be_over}.`;
    const aside = answer.set_aside.length, named = answer.set_aside.slice(0, 3).map(one =>
      [...[one.route, one.joint].filter(Boolean), ...(one.route || one.joint ? ["in"] : []), one.file, "row", one.row].join(" "));
    if (aside) $("said").textContent += ` ${aside} ${aside === 1 ? "record" : "records"} there ${aside === 1 ? "was" : "were"} ` +
      `set aside, and ${aside === 1 ? "is" : "are"} in no joint (${named.join(", ")}${aside > 3 ? ` and ${aside - 3} more` : ""}); asbuilt info lists them.` +
      (answer.aside_not_held ? ` Whether ${aside === 1 ? "it meets" : "they meet"} what was asked of ${answer.aside_not_held} is not known.` : "");
    for (const one of answer.doubtful_lines) $("doubtful").append(part("li", "act",
      `Joints of ${one.route} may all stand elsewhere (${one.job}): ${one.message}`));
    answer.joints.forEach(joint => $("joints").append(item(joint)));
  }
  $("share").hidden = Boolean(frozen) || !answer;
  waits();
  draw();
  choose(chosen, false);
}
function waits() {
  const { joints, jobs } = answer ? answer.waiting : {joints: 0}, told = answer ? answer.waits : [];
  const unsure = answer ? answer.waiting_not_held_against : [];
  $("waits").hidden = !joints;
  if (!joints) return;
  const [head, list] = $("waits").children, more = joints - told.length;
  head.textContent = `${joints} ${joints === 1 ? "joint" : "joints"} of ${jobs} ${jobs === 1 ? "job" : "jobs"} ` +
    `${joints === 1 ? "was left out there and waits" : "were left out there and wait"} to be settled` +
    (unsure.length ? `: the most there may be, as they are not held against ${unsure.map(one => NAMES[one.slice(2)] || one).join(", ")}` : "");
  list.replaceChildren(...told.map(one => part("li", "", `${one.route} ${one.joint}, station ${one.station || "unknown"}, of ` +
    `${one.job} (load ${one.load}): ${one.message}`)));
  if (more > 0) list.append(part("li", "soft", `and ${more} more: asbuilt conflicts lists them all`));
  if (frozen) $("waits").open = true;
}
const GRAVITY = {act: "Act on it: ", check: "Check it: "};
const SERVICE = {replaced: "Replaced", abandoned: "Abandoned in the ground"};
// What else is known of a joint, under the names of the columns.
const SHOWN = ["route", "joint", "station", "joint_uid", "away", "away_unit", "size", "size_unit", "joint_type", "kind", "verdict",
  "deflection_deg", "allowable_deg", "findings", "photos", "history", "earlier", "service", "replaced_by", "previous", "next",
  "latitude", "longitude", "easting", "northing", "elevation", "coordinate_unit", "verdict_assumes", "inspection", "job", "load_id", "surveyed_on",
  "reading_unit"];
const READ = ["gap_mean", "gap_residual"];  // in reading_unit, that of the job
function known(joint) {
  const box = part("details", "known"), list = part("dl"), unit = joint.coordinate_unit.replace("us-", "");
  const rows = [["Latitude, longitude", `${joint.latitude.toFixed(7)}, ${joint.longitude.toFixed(7)}`],
    // In the register's system; an elevation stays in the unit of its job.
    [`Easting, northing (${answer.crs})`, `${joint.easting.toFixed(2)}, ${joint.northing.toFixed(2)}`],
    ...(joint.elevation === null ? [] : [["Elevation", `${joint.elevation.toFixed(2)} ${unit}`]]),
    ["Job", `${joint.job} (load ${joint.load_id})`], ["Inspection", joint.inspection],
    ...["previous", "next"].filter(side => joint[side]).map(side => [`${side[0].toUpperCase()}${side.slice(1)} joint`,
      typeof joint[side] === "object" ? joint[side].joint : joint[side]]),
    ...Object.entries(joint).filter(([name, value]) => !SHOWN.includes(name) && value !== null && value !== "" && typeof value !== "object")
      .map(([name, value]) => [name.replaceAll("_", " "), typeof value !== "number" ? value
        : `${Number(value.toFixed(4))}${about.lengths.includes(name) ? ` ${unit}` : READ.includes(name) ? ` ${joint.reading_unit}` : ""}`])];
  for (const [name, value] of rows) list.append(part("dt", "", name), part("dd", "", value));
  box.append(part("summary", "", "Place and all columns"), list);
  if (!frozen) {
    const own = part("a", "", "Address of this joint");
    own.href = `?${new URLSearchParams({joint_uid: joint.joint_uid})}`;
    box.append(own);
  }
  return box;
}
function item(joint) {
  const made = part("li"), head = part("button", "head");
  made.dataset.uid = joint.joint_uid;
  head.type = "button";
  head.append(sign(joint.verdict), ...(joint.inspection === "failed" ? [signOf(about.failed)] : []), part("b", "", `${joint.route} ${joint.joint}`));
  head.append(part("span", "", joint.away === null ? "" : `${joint.away.toFixed(1)} ${answer.away_symbol} away`));
  head.addEventListener("click", () => choose(joint.joint_uid, true));
  made.append(head);
  const size = joint.size === null ? null : `${joint.size} ${joint.size_unit || "(unit unknown)"}`;
  const what = [`station ${joint.station || "unknown"}`, [size, joint.joint_type, joint.kind].filter(Boolean).join(" ")];
  made.append(part("p", "soft", what.filter(Boolean).join(", ")));
  if (SERVICE[joint.service]) made.append(part("p", "state", SERVICE[joint.service] + (joint.replaced_by ? ` by ${joint.replaced_by}` : "")));
  if (joint.inspection === "failed") made.append(part("p", "act state", "Its inspection failed"));
  if (joint.findings.some(one => one.code === "remark-to-read")) made.append(part("p", "state",
    "Has a remark to read: a word of a list that may tell of trouble is in it; what it means is not judged"));
  for (const one of joint.called) made.append(part("p", "soft", `Called ${one.route} ${one.joint} by ${one.job}` +
    `${one.station ? `, at station ${one.station}` : ""}`));
  const of = joint.allowable_deg === null ? "" : ` of ${number(joint.allowable_deg, 2)}\u00b0`;
  const bounded = (joint.verdict || "").startsWith("within") && joint.deflection_floor_deg !== null && joint.deflection_ceiling_deg !== null;
  const measured = joint.deflection_deg !== null ? ` ${number(joint.deflection_deg, 2)}\u00b0${of}` : !bounded ? "" :
    ` ${number(joint.deflection_floor_deg, 2)}\u00b0 to ${number(joint.deflection_ceiling_deg, 2)}\u00b0${of}`;
  const others = joint.verdict === "over" && measured === "" ? ", at this joint or at others that its finding names" : "";
  made.append(part("p", "", `Deflection${measured}: ${word(joint.verdict)}${others}${onlyIf(joint.verdict_assumes)}`));
  if (joint.measured_deg !== null) {
    const load = joint.reading_load_id || joint.load_id;
    const day = joint.history.filter(one => one.load_id === load && one.inspected_on).map(one => one.inspected_on).sort().at(-1);
    made.append(part("p", "", `Read at the joint: ${number(joint.measured_deg, 2)}\u00b0${day ? `, ${day}` : ""}, load ${load}`));
  }
  if (joint.findings.length > 1) made.append(part("p", "soft", `${joint.findings.length} findings, the gravest first:`));
  const found = part(joint.findings.length > 1 ? "ol" : "div", "findings");
  for (const one of joint.findings) {
    const last = one.marks.at(-1);
    const note = last ? ` [${last.mark} on ${last.at.slice(0, 10)} by ${last.by}${last.note ? `: ${last.note}` : ""}]` : "";
    found.append(part(joint.findings.length > 1 ? "li" : "p", one.severity, `${GRAVITY[one.severity] || ""}${one.message}${note}`));
  }
  if (joint.findings.length) made.append(found);
  if (joint.surveyed_on) made.append(part("p", "soft", `Place surveyed on ${joint.surveyed_on}`));
  for (const one of joint.earlier) made.append(part("p", "soft", `Load ${one.load_id}${one.surveyed_on ? `, surveyed on ${one.surveyed_on},` : ""} said: ${word(one.verdict)}` +
    (one.deflection_deg === null ? "" : `, ${number(one.deflection_deg, 2)}\u00b0`) + onlyIf(one.verdict_assumes) +
    one.findings.map(finding => `; ${finding.message}`).join("")));
  if (!joint.history.length) made.append(part("p", "soft", "No inspection is on record."));
  for (const one of joint.history) {
    const failed = Object.keys(one).filter(name => one[name] === "no" && !["cut", "restrained"].includes(name));
    const told = [one.inspected_on || "undated", one.inspector, one.crew && `crew: ${one.crew}`, one.remarks,
      failed.length && `not passed: ${failed.map(name => name.replaceAll("_", " ")).join(", ")}`, one.job];
    made.append(part("p", one.state === "standing" ? "" : "gone", told.filter(Boolean).join("; ")));
  }
  if (joint.photos.length && about.photos) {
    const row = part("div", "photos");
    for (const name of joint.photos) {
      const picture = part("img");
      picture.alt = `Photo ${name}`;
      picture.loading = "lazy";
      picture.src = `photos/${name.split("/").map(encodeURIComponent).join("/")}`;
      picture.addEventListener("error", () => picture.replaceWith(part("span", "soft", `photo ${name} is not in the folder`)));
      row.append(picture);
    }
    made.append(row);
  } else if (joint.photos.length) made.append(part("p", "soft", `Photos: ${joint.photos.join(", ")}`));
  for (const one of joint.pressure_tests) made.append(part("p", one.result.startsWith("failed") ? "act" : "", one.result === "untested" ?
    `Under no pressure test: ${one.from_station} to ${one.to_station} (${one.job})` :
    `Pressure test ${one.from_station} to ${one.to_station}${one.tested_on ? `, ${one.tested_on}` : ""}: ${one.result} (${one.job})`));
  for (const one of joint.restraint) made.append(part("p", "", `To be restrained ${one.from_station} to ${one.to_station}: ` +
    `${one.joints_unrestrained} of ${one.joints} joints are not recorded as restrained (${one.job})`));
  for (const one of joint.set_aside) made.append(part("p", "check", `Set aside: ${one.file} row ${one.row}: ${one.message} (${one.job})`));
  made.append(known(joint));
  return made;
}
function choose(uid, byHand) {
  chosen = uid;
  for (const one of $("joints").children) {
    const here = one.dataset.uid === uid;
    one.classList.toggle("chosen", here);
    one.querySelector(".head").setAttribute("aria-pressed", here);
    if (here && byHand) one.scrollIntoView({block: "nearest"});
  }
  if (byHand && !frozen) {
    const given = new URLSearchParams(location.search);
    given.set("joint_uid", uid);
    history.replaceState(null, "", `?${given}`);
  }
  if (map && map.getLayer("chosen")) map.setFilter("chosen", ["==", ["get", "joint_uid"], uid || ""]);
}
$("joints").addEventListener("keydown", event => {
  const step = {ArrowDown: 1, ArrowUp: -1}[event.key], heads = [...document.querySelectorAll("#joints .head")];
  if (!step || !heads.length) return;
  event.preventDefault();
  const next = heads[Math.min(heads.length - 1, Math.max(0, heads.indexOf(document.activeElement) + step))];
  next.focus();
  choose(next.closest("li").dataset.uid, true);
});

// ---- the map
const feature = joint => ({type: "Feature", properties: {joint_uid: joint.joint_uid, verdict: joint.verdict,
  inspection: joint.inspection, name: `${joint.route} ${joint.joint}`}, geometry: {type: "Point", coordinates: [joint.longitude, joint.latitude]}});
const waiting = () => ({type: "FeatureCollection", features: answer ? answer.waits.filter(one => one.longitude !== null).map(one => ({
  type: "Feature", properties: {name: `${one.route} ${one.joint} waits to be settled: ${one.message}`},
  geometry: {type: "Point", coordinates: [one.longitude, one.latitude]}})) : []});
const found = () => ({type: "FeatureCollection", features: answer ? answer.joints.map(feature) : []});

function picture(mark) {
  const size = 48, canvas = part("canvas"), pen = canvas.getContext("2d");
  canvas.width = canvas.height = size;
  pen.scale(size / 20, size / 20);
  pen.translate(2, 2);
  const path = new Path2D(mark.path);
  pen.strokeStyle = "#ffffff";
  pen.lineJoin = "round";
  pen.lineWidth = mark.filled ? 2.5 : 5;
  pen.stroke(path);
  pen.fillStyle = mark.filled ? mark.color : "#ffffff";
  pen.fill(path);
  if (mark.filled) return pen.getImageData(0, 0, size, size);
  pen.strokeStyle = mark.color;
  pen.lineWidth = 2.2;
  pen.stroke(path);
  return pen.getImageData(0, 0, size, size);
}
function circle(longitude, latitude, metres) {
  const ring = [], degree = 111320;
  for (let turn = 0; turn <= 64; turn++) {
    const angle = turn * Math.PI / 32;
    ring.push([longitude + metres * Math.cos(angle) / (degree * Math.cos(latitude * Math.PI / 180)),
      latitude + metres * Math.sin(angle) / degree]);
  }
  return {type: "Feature", properties: {}, geometry: {type: "Polygon", coordinates: [ring]}};
}
function place() {
  const features = [];
  if (answer && answer.near) {
    const {longitude, latitude, within_m} = answer.near;
    features.push({type: "Feature", properties: {}, geometry: {type: "Point", coordinates: [longitude, latitude]}});
    if (within_m) features.push(circle(longitude, latitude, within_m));
  }
  if (frozen && frozen.area) features.push({type: "Feature", properties: {}, geometry: frozen.area});
  return {type: "FeatureCollection", features: features};
}
function start() {
  const style = {version: 8, sources: {}, layers: [{id: "ground", type: "background", paint: {"background-color": "#eef1ee"}}]};
  if (about.tiles) {
    // A file's tiles are asked for here; finer than it has them, its finest are drawn larger.
    const zooms = about.zooms ? {minzoom: about.zooms[0], maxzoom: about.zooms[1]} : {};
    const tiles = about.zooms ? new URL(".", location.href.split(/[?#]/)[0]).href + about.tiles : about.tiles;
    style.sources.base = {type: "raster", tiles: [tiles], tileSize: 256, attribution: about.attribution, ...zooms};
    style.layers.push({id: "base", type: "raster", source: "base"});
  }
  try {
    map = new maplibregl.Map({container: "map", style: style, center: [0, 0], zoom: 1, maxZoom: 22, dragRotate: false,
      preserveDrawingBuffer: true, attributionControl: about.tiles ? {compact: false} : false, fadeDuration: 0});
  } catch (error) {
    $("nomap").hidden = false;
    return;
  }
  map.touchZoomRotate.disableRotation();
  map.addControl(new maplibregl.NavigationControl({showCompass: false}), "top-right");
  map.addControl(new maplibregl.ScaleControl({unit: answer && answer.away_unit === "m" ? "metric" : "imperial"}), "bottom-left");
  map.getCanvas().setAttribute("aria-label", "Map of the joints found; the list holds the same joints");
  map.on("load", () => {
    for (const mark of about.marks) map.addImage(mark.verdict, picture(mark), {pixelRatio: 2});
    map.addImage("failed", picture(about.failed), {pixelRatio: 2});
    for (const name of ["surveyed", "mains", "others", "place", "waiting", "found"]) map.addSource(name, {type: "geojson", data: EMPTY});
    const symbol = (id, source, size, more) => map.addLayer({id: id, type: "symbol", source: source, ...more,
      layout: {"icon-image": ["get", "verdict"], "icon-size": size, "icon-allow-overlap": true}});
    const failed = (id, source, size, more) => map.addLayer({id: id, type: "symbol", source: source, ...more,
      filter: ["==", ["get", "inspection"], "failed"],
      layout: {"icon-image": "failed", "icon-size": size, "icon-allow-overlap": true}});
    const out = ["in", ["get", "service"], ["literal", GONE]];
    map.addLayer({id: "surveyed", type: "line", source: "surveyed", filter: ["!", out], paint: {"line-color": "#b9c4bf", "line-width": 7}});
    map.addLayer({id: "surveyed-before", type: "line", source: "surveyed", filter: out,
      paint: {"line-color": "#8a7f78", "line-width": 1.5, "line-dasharray": [1, 3]}});
    map.addLayer({id: "mains", type: "line", source: "mains", filter: ["!", out], paint: {"line-color": "#7c8a84", "line-width": 3}});
    map.addLayer({id: "out", type: "line", source: "mains", filter: out,
      paint: {"line-color": "#7c8a84", "line-width": 2, "line-dasharray": [2, 2]}});
    symbol("others", "others", ["interpolate", ["linear"], ["zoom"], 14, 0.15, 19, 0.5], {minzoom: 14});
    failed("others-failed", "others", ["interpolate", ["linear"], ["zoom"], 14, 0.2, 19, 0.55], {minzoom: 14});
    map.addLayer({id: "reach", type: "fill", source: "place", filter: ["==", ["geometry-type"], "Polygon"],
      paint: {"fill-color": "#14506b", "fill-opacity": 0.08, "fill-outline-color": "#14506b"}});
    map.addLayer({id: "place", type: "circle", source: "place", filter: ["==", ["geometry-type"], "Point"],
      paint: {"circle-radius": 9, "circle-opacity": 0, "circle-stroke-width": 3, "circle-stroke-color": "#14506b"}});
    map.addLayer({id: "chosen", type: "circle", source: "found", filter: ["==", ["get", "joint_uid"], chosen || ""],
      paint: {"circle-radius": 15, "circle-color": "#ffffff", "circle-stroke-width": 3, "circle-stroke-color": "#22262b"}});
    map.addLayer({id: "waiting", type: "circle", source: "waiting", paint: {
      "circle-radius": ["interpolate", ["linear"], ["zoom"], 14, 3, 19, 7], "circle-color": "#ffffff",
      "circle-opacity": 0.6, "circle-stroke-width": ["interpolate", ["linear"], ["zoom"], 14, 1.5, 19, 2.5], "circle-stroke-color": "#8a5a00"}});
    symbol("found", "found", ["interpolate", ["linear"], ["zoom"], 12, 0.4, 19, 0.8], {});
    failed("found-failed", "found", ["interpolate", ["linear"], ["zoom"], 12, 0.5, 19, 0.9], {});
    map.on("click", event => {
      const hit = map.queryRenderedFeatures(event.point, {layers: ["found", "others"]})[0];
      if (hit && hit.layer.id === "found") choose(hit.properties.joint_uid, true);
      else if (map.queryRenderedFeatures(event.point, {layers: ["waiting"]}).length) $("waits").open = true;
      else if (hit && !frozen) ask(new URLSearchParams({joint: hit.properties.joint_uid, joint_uid: hit.properties.joint_uid}), true);
      else if (!frozen) {
        const {lat, lng} = event.lngLat;
        $("question").elements.near.value = `${lat.toFixed(7)},${lng.toFixed(7)}`;
        if (!$("question").elements.within.value) $("question").elements.within.value = "50 ft";
        ask(question(), true);
      }
    });
    for (const layer of ["found", "others", "waiting", "surveyed", "surveyed-before"]) {
      map.on("mousemove", layer, event => {
        if (!layer.startsWith("surveyed")) map.getCanvas().style.cursor = "pointer";
        else if (map.queryRenderedFeatures(event.point, {layers: ["found", "others", "waiting"]}).length) return;
        const {name, route, joint, station, job, service} = event.features[0].properties;
        const since = {"surveyed-again": ", surveyed again since", replaced: ", replaced", abandoned: ", abandoned"}[service] || "";
        $("pointed").textContent = job ? `${route}, line as surveyed by ${job}${since}` : name || `${route} ${joint}, station ${station || "unknown"}`;
      });
      map.on("mouseleave", layer, () => { map.getCanvas().style.cursor = ""; $("pointed").textContent = ""; });
    }
    map.on("moveend", surroundings);
    // Paper has another shape than the window: it gets the map as a picture, once nothing is left to draw.
    map.on("render", () => { still = false; });
    map.on("idle", () => { if (!fetching) { still = true; $("printed").src = map.getCanvas().toDataURL(); } });
    draw();
    if (!answer) frame();
    map.once("idle", () => { document.body.dataset.ready = "yes"; });
  });
}
// Joints are not to lie under the key, which on a wide screen stands on the map.
function room() {
  const beside = {top: 60, right: 60, bottom: 60, left: 60};
  const map = $("where").getBoundingClientRect(), key = $("key").getBoundingClientRect();
  if (map.width <= 600) return beside;
  // Before anything is drawn the key is empty and has no place; it will have one.
  if (!key.width) return {...beside, left: 220};
  const left = key.right - map.left + 30, bottom = map.bottom - key.top + 30;
  return left / map.width < bottom / map.height ? {...beside, left} : {...beside, bottom};
}
function draw() {
  key();
  if (!map || !map.getSource("found")) return;
  map.getSource("found").setData(found());
  map.getSource("place").setData(place());
  map.getSource("waiting").setData(waiting());
  if (frozen) for (const name of ["mains", "surveyed"]) map.getSource(name).setData(frozen[name]);
  const box = new maplibregl.LngLatBounds();
  // What waits may lie miles away, as another contract's route of the same name: what was found is looked at first.
  const shown = [...found().features, ...place().features];
  for (const one of shown.length ? shown : waiting().features) {
    const shape = one.geometry;
    const points = shape.type === "Point" ? [shape.coordinates] : shape.coordinates.flat(shape.type === "MultiPolygon" ? 2 : 1);
    points.forEach(point => box.extend(point));
  }
  if (!box.isEmpty()) look(box, 20);
  else if (answer && !looked) frame();
}
function look(box, closest) {
  looked = true;
  map.fitBounds(box, {padding: room(), maxZoom: closest, animate: false});
}
// What is there while nothing is asked, in words and, where one can be drawn, on the map.
async function overview() {
  const turn = asked, got = await fetch(EVERYWHERE), all = await got.json();
  if (answer || turn !== asked || $("said").textContent) return;
  if (!got.ok) { $("said").className = "wrong"; $("said").textContent = all.error; return; }
  $("said").textContent = all.count ? `The register holds ${all.count} ${all.count === 1 ? "joint" : "joints"}. Ask above, or click on the map.`
    : "The register holds no joints: asbuilt load brings them.";
  whole = all.mains;
  frame();
}
// The window on all mains, where nothing was found to look at, once both they and the map are there.
async function frame() {
  if (frozen) whole = frozen.mains;
  if (!whole && answer) {
    const got = await fetch(EVERYWHERE);
    if (got.ok) whole = (await got.json()).mains;
  }
  if (!map || !whole || found().features.length) return;
  const box = new maplibregl.LngLatBounds();
  for (const one of whole.features) one.geometry.coordinates.flat().forEach(point => box.extend(point));
  if (!box.isEmpty()) look(box, 19);
}
let drawing = 0, fetching = 0, still = false;
async function drawn() {
  for (let turn = 0; turn < 200 && !still && $("nomap").hidden; turn++) await new Promise(done => setTimeout(done, 50));
}
async function surroundings() {
  if (frozen) return;
  fetching++;
  try { await fillIn(); } finally { fetching--; map.triggerRepaint(); }
}
async function fillIn() {
  const turn = ++drawing, box = map.getBounds(), hold = (value, most) => Math.max(-most, Math.min(most, value));
  const sides = [hold(box.getWest(), 180), hold(box.getSouth(), 90), hold(box.getEast(), 180), hold(box.getNorth(), 90)];
  const got = await fetch(`around?bbox=${sides}`);
  if (!got.ok || turn !== drawing) return;
  const there = await got.json();
  lines = there.mains;
  map.getSource("mains").setData(lines);
  map.getSource("surveyed").setData(surveyed = there.surveyed);
  map.getSource("others").setData(there.joints);
  waitsThere = answer ? 0 : there.waiting.features.length;
  if (!answer) map.getSource("waiting").setData(there.waiting);
  key(there.joints.features.map(one => one.properties));
}
function key(more) {
  const there = [...(answer ? answer.joints : []), ...(more || [])], shown = new Set(there.map(one => one.verdict));
  const rows = about.marks.filter(mark => shown.has(mark.verdict)).map(mark => [sign(mark.verdict), mark.word]);
  if (there.some(one => one.inspection === "failed")) rows.push([signOf(about.failed), about.failed.word]);
  if (answer ? answer.waits.length : waitsThere) rows.push([part("i", "ring"), "waits to be settled"]);
  if (lines.features.some(one => !GONE.includes(one.properties.service))) rows.push([part("i", "main"), "main, from joint to joint"]);
  const before = surveyed.features.filter(one => GONE.includes(one.properties.service)).length;
  if (surveyed.features.length > before) rows.push([part("i", "band"), "line as surveyed"]);
  if (before) rows.push([part("i", "before"), "line surveyed before, not of the main of today"]);
  if (dashed()) rows.push([part("i", "dash"), "replaced or abandoned"]);
  $("key").replaceChildren(...rows.map(([drawn, meaning]) => {
    const row = part("div");
    row.append(drawn, part("span", "", meaning));
    return row;
  }));
}
let lines = EMPTY, surveyed = EMPTY, waitsThere = 0;
const dashed = () => lines.features.some(one => GONE.includes(one.properties.service));

// ---- begin
async function begin() {
  about = frozen ? frozen.about : await (await fetch("about")).json();
  $("register").textContent = `Register ${about.register}${frozen ? `, as it answered on ${about.written}` : ""}`;
  if (frozen) {
    $("question").remove();
    document.body.classList.add("answered");
    answer = frozen.answer;
    lines = frozen.mains;
    surveyed = frozen.surveyed;
    tell();
    start();
    return;
  }
  prepare();
  $("question").addEventListener("submit", event => { event.preventDefault(); ask(question(), true); $("answer").focus(); });
  $("clear").addEventListener("click", () => { fill(new URLSearchParams()); ask(new URLSearchParams(), true); });
  addEventListener("popstate", () => { const given = new URLSearchParams(location.search); fill(given); ask(given, false); });
  const given = new URLSearchParams(location.search);
  fill(given);
  $("print").addEventListener("click", async () => { await drawn(); window.print(); });
  $("link").addEventListener("click", async () => {
    await navigator.clipboard.writeText(location.href);
    $("link").textContent = "Link copied";
    setTimeout(() => { $("link").textContent = "Copy the link"; }, 2000);
  });
  await ask(given, false);
  start();
  offer();
}
// The scale and whose the base map is stand on the map itself, which paper gets as a picture of another size.
function across() {
  const box = map.getBounds(), up = map.getCenter().lat, end = side => new maplibregl.LngLat(side, up);
  const metres = end(box.getWest()).distanceTo(end(box.getEast())), own = answer && answer.away_unit === "m";
  return `${Number((own ? metres : metres / 0.3048).toPrecision(3)).toLocaleString("en")} ${own ? "m" : "ft"}`;
}
// Nothing that counts stays folded on paper.
addEventListener("beforeprint", () => {
  $("waits").open = true;
  $("unfinished").hidden = still || !$("nomap").hidden;
  if (map) $("across").textContent = `The map is ${across()} across; north is up.${about.attribution ? ` Base map: ${about.attribution}.` : ""}`;
});
begin();
