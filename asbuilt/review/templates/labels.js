"use strict";
// Where the words of a plot stand, so that none lies on another, or across the line, or runs off the edge; `labels.py`
// does the same for print. Places are in pixels, right and up. A type has its height, `size`, and `width(text)`.
const labels = (() => {
  const reach = 0.3;
  const together = (texts) => {
    const many = new Map();
    for (const text of texts) many.set(text, (many.get(text) || 0) + 1);
    return [...many].map(([text, count]) => (count > 1 ? `${count} × ${text}` : text)).join(", ");
  };
  const gathered = (places, texts, type, [low, high] = [-Infinity, Infinity]) => {
    const middle = (group) => {
      const half = type.width(together(group.map((at) => texts[at]))) / 2;
      const between = (places[group[0]] + places[group[group.length - 1]]) / 2;
      return [Math.min(Math.max(between, low + half), high - half), half];
    };
    const groups = [];
    for (let at = 0; at < places.length; at += 1) {
      groups.push([at]);
      while (groups.length > 1) {
        const [[left, one], [right, other]] = groups.slice(-2).map(middle);
        if (right - left >= one + other + type.size / 2) break;
        groups.push(groups.splice(-2).flat());
      }
    }
    return groups.map((group) => [group, ...middle(group)]);
  };
  const near = (one, other, size) => Math.abs(other[0] - one[0]) < 5 * size && Math.abs(other[1] - one[1]) < 2 * size;
  const rows = (spans) => {
    const ends = [];
    return spans.map(([start, end]) => {
      let row = ends.findIndex((taken) => taken <= start);
      if (row < 0) row = ends.length;
      ends[row] = end;
      return row;
    });
  };
  const alignment = ([right, up]) => [
    right > reach ? "left" : right < -reach ? "right" : "center",
    up > reach ? "bottom" : up < -reach ? "top" : "center",
  ];
  const box = (place, way, text, type, away) => {
    const [across, up] = alignment(way);
    const left = place[0] + away * way[0] - { left: 0, center: 0.5, right: 1 }[across] * type.width(text);
    const bottom = place[1] + away * way[1] - { bottom: 0, center: 0.5, top: 1 }[up] * type.size * 1.2;
    return [left, left + type.width(text), bottom, bottom + type.size * 1.2];
  };
  const meet = (one, other) => one[0] < other[1] && other[0] < one[1] && one[2] < other[3] && other[2] < one[3];
  // Whether some part of a straight is within a box's width and within its height.
  const cuts = (one, other, room) => {
    let [begin, end] = [0, 1];
    for (const at of [0, 1]) {
      const [start, stop, low, high] = [one[at], other[at], room[2 * at], room[2 * at + 1]];
      if (start === stop) {
        if (!(low < start && start < high)) return false;
        continue;
      }
      const [first, last] = [(low - start) / (stop - start), (high - start) / (stop - start)].sort((a, b) => a - b);
      [begin, end] = [Math.max(begin, first), Math.min(end, last)];
    }
    return begin < end;
  };
  const thinned = (places, least) => {
    const kept = [];
    for (const place of places) {
      const before = kept[kept.length - 1];
      if (!before || Math.abs(place[0] - before[0]) + Math.abs(place[1] - before[1]) >= least) kept.push(place);
    }
    const last = places[places.length - 1];
    return !last || kept[kept.length - 1] === last ? kept : [...kept, last];
  };
  const findRoom = (frame, place, [right, up], text, type, away, must = true) => {
    const [left, end, bottom, top] = frame.edge;
    const free = [[right, up], [-right, -up], [0, 1], [0, -1], [1, 0], [-1, 0]]
      .map((way) => [way, box(place, way, text, type, away)])
      .filter(([, room]) => room[0] >= left && room[1] <= end && room[2] >= bottom && room[3] <= top)
      .filter(([, room]) => !frame.taken.some((one) => meet(room, one)));
    const line = frame.line || [];
    // Most straights lie to one side of a box.
    const beside = ([x, y], [a, b], [from, to, low, high]) => (x < from && a < from) || (x > to && a > to)
      || (y < low && b < low) || (y > high && b > high);
    const crossed = (room) => line.some((one, at) => at > 0 && !beside(line[at - 1], one, room) && cuts(line[at - 1], one, room));
    const found = free.find(([, room]) => !crossed(room)) || (must ? free[0] : null);
    if (!found) return null;
    frame.taken.push(found[1]);
    return found[0];
  };
  return { together, gathered, near, rows, alignment, thinned, findRoom };
})();
