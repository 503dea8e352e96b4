"use strict";
// Where the words of a plot stand, so that none lies on another or runs off the edge; `labels.py` does the same for
// print. Places are in pixels, right and up. A type has its height, `size`, and `width(text)`.
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
  const findRoom = (frame, place, [right, up], text, type, away) => {
    for (const way of [[right, up], [-right, -up], [0, 1], [0, -1], [1, 0], [-1, 0]]) {
      const room = box(place, way, text, type, away);
      const [left, end, bottom, top] = frame.edge;
      const inside = room[0] >= left && room[1] <= end && room[2] >= bottom && room[3] <= top;
      if (!inside || frame.taken.some((one) => meet(room, one))) continue;
      frame.taken.push(room);
      return way;
    }
    return null;
  };
  return { together, gathered, near, rows, alignment, findRoom };
})();
