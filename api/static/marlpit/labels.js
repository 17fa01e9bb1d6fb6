// Puts each label on the first side of its mark where it covers nothing, or hides it;
// earlier places choose first. Marks always stay, and a tap on one tells its name.
const SIDES = [
  ["right", [12, 0]],
  ["left", [-12, 0]],
  ["top", [0, -12]],
  ["bottom", [0, 12]],
];

function overlap(one, other) {
  return (
    one.left < other.right &&
    other.left < one.right &&
    one.top < other.bottom &&
    other.top < one.bottom
  );
}

function inside(box, frame) {
  return (
    box.left >= frame.left &&
    box.right <= frame.right &&
    box.top >= frame.top &&
    box.bottom <= frame.bottom
  );
}

// The box of a mark without its empty corners.
function core(marker) {
  const box = marker.getElement().getBoundingClientRect();
  const inset = box.width / 5;
  return {
    left: box.left + inset,
    right: box.right - inset,
    top: box.top + inset,
    bottom: box.bottom - inset,
  };
}

function settle(tooltip, frame, taken) {
  const label = tooltip.getElement();
  for (const [direction, offset] of SIDES) {
    tooltip.options.direction = direction;
    tooltip.options.offset = offset;
    tooltip.update();
    const box = label.getBoundingClientRect();
    if (inside(box, frame) && !taken.some((other) => overlap(box, other))) {
      label.style.visibility = "visible";
      taken.push(box);
      return;
    }
  }
  label.style.visibility = "hidden";
}

export function declutter(map, markers) {
  function tidy() {
    const frame = map.getContainer().getBoundingClientRect();
    const controls = map.getContainer().querySelectorAll(".leaflet-control");
    const taken = [
      ...markers.map(core),
      ...[...controls].map((control) => control.getBoundingClientRect()),
    ];
    for (const marker of markers) {
      if (marker.getTooltip()) {
        settle(marker.getTooltip(), frame, taken);
      }
    }
  }
  map.on("zoomend moveend resize", () => requestAnimationFrame(tidy));
  requestAnimationFrame(tidy);
}
