// Draws places, roads and ways on every element with data-map. All that it shows also
// stands in the page's lists, so a map that fails takes nothing away.
import { declutter } from "./labels.js";

const L = window.L;

const ROAD_STYLES = {
  minor: { color: "#d9ccb4", weight: 1 },
  middle: { color: "#bfae92", weight: 1.8 },
  major: { color: "#93805f", weight: 3 },
};
// Loaded and empty ways differ in width and dashes, so that grey print tells them apart.
const WAY_STYLES = {
  true: { color: "#7c2d0e", weight: 5, opacity: 0.85 },
  false: { color: "#1f3f57", weight: 2.5, dashArray: "7 6", opacity: 0.9 },
};
const SVG = "http://www.w3.org/2000/svg";

function text(tag, content) {
  const element = document.createElement(tag);
  element.textContent = content;
  return element;
}

function escaped(content) {
  return text("span", content).innerHTML;
}

function mark(role) {
  const svg = document.createElementNS(SVG, "svg");
  const use = document.createElementNS(SVG, "use");
  use.setAttribute("href", `#mark-${role}`);
  svg.append(use);
  svg.setAttribute("aria-hidden", "true");
  return svg;
}

function card(place) {
  const box = document.createElement("div");
  box.append(text("strong", place.name), text("p", place.what));
  return box;
}

async function lines(address) {
  const answer = await fetch(address, { headers: { Accept: "application/json" } });
  if (!answer.ok) {
    throw new Error(`${address}: ${answer.status}`);
  }
  return answer.json();
}

// One finger on a phone scrolls the page; the map moves only while this is pressed.
function moveButton(map) {
  const control = new L.Control({ position: "topleft" });
  control.onAdd = () => {
    const bar = document.createElement("div");
    bar.className = "leaflet-bar";
    const button = text("button", "✥");
    button.type = "button";
    button.className = "move";
    button.setAttribute("aria-label", "Move the map with one finger");
    button.setAttribute("aria-pressed", "false");
    button.addEventListener("click", () => {
      const on = !map.dragging.enabled();
      map.dragging[on ? "enable" : "disable"]();
      button.setAttribute("aria-pressed", String(on));
    });
    L.DomEvent.disableClickPropagation(bar);
    bar.append(button);
    return bar;
  };
  return control;
}

function addPlaces(map, places) {
  return places.map((place) => {
    const used = place.used !== false;
    const side = used ? 34 : 22;
    const icon = L.divIcon({
      html: mark(place.role),
      className: used ? "" : "unused",
      iconSize: [side, side],
    });
    const marker = L.marker([place.lat, place.lon], {
      icon,
      title: place.name,
      riseOnHover: true,
      zIndexOffset: used ? 100 : 0,
    });
    marker.bindPopup(card(place));
    if (used) {
      marker.bindTooltip(text("span", place.name), {
        permanent: true,
        direction: "right",
        opacity: 1,
        interactive: false,
      });
    }
    marker.addTo(map);
    marker.getElement().setAttribute("aria-label", `${place.name}: ${place.what}`);
    return marker;
  });
}

async function addRoads(map, address) {
  const roads = await lines(address);
  L.geoJSON(roads, {
    interactive: false,
    style: (feature) => ROAD_STYLES[feature.properties.tier],
  })
    .addTo(map)
    .bringToBack();
}

async function addWays(map, address) {
  const ways = await lines(address);
  for (const loaded of [true, false]) {
    L.geoJSON(ways, {
      filter: (feature) => feature.properties.loaded === loaded,
      style: () => WAY_STYLES[loaded],
      onEachFeature: (feature, layer) => {
        const { from, to, km } = feature.properties;
        const doing = loaded ? "Loaded" : "Empty";
        layer.bindPopup(text("span", `${doing}: ${from} to ${to}, ${km.toFixed(1)} km`));
      },
    }).addTo(map);
  }
}

async function draw(element) {
  const data = element.dataset;
  const places = JSON.parse(document.getElementById(data.map).textContent);
  const touch = L.Browser.mobile || window.matchMedia("(pointer: coarse)").matches;
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  const map = L.map(element, {
    renderer: L.canvas({ padding: 0.3, tolerance: 8 }),
    dragging: !touch,
    scrollWheelZoom: false,
    zoomAnimation: !calm,
    fadeAnimation: !calm,
    markerZoomAnimation: !calm,
    zoomSnap: 0.25,
    maxZoom: 18,
  });
  map.attributionControl.setPrefix(false);
  if (data.roadCredit) {
    map.attributionControl.addAttribution(escaped(data.roadCredit));
  }
  if (touch) {
    moveButton(map).addTo(map);
  }
  if (data.tiles) {
    L.tileLayer(data.tiles, { attribution: escaped(data.tileCredit) }).addTo(map);
  }
  L.control.scale({ imperial: false, position: "topright" }).addTo(map);
  if (!places.length) {
    map.setView([0, 0], 2);
    return;
  }
  const bounds = L.latLngBounds(places.map((place) => [place.lat, place.lon]));
  // Room at the left, so that no mark hides behind the buttons.
  const room = { paddingTopLeft: [66, 24], paddingBottomRight: [24, 30] };
  map.fitBounds(bounds, { ...room, maxZoom: 14, animate: false });
  const markers = addPlaces(map, places);
  declutter(map, markers);
  await addRoads(map, data.roads);
  if (data.routes) {
    await addWays(map, data.routes);
  }
  element.dataset.drawn = "true";
}

for (const element of document.querySelectorAll("[data-map]")) {
  draw(element).catch((error) => {
    console.error(error);
    element.append(text("p", "The map could not be drawn; the lists below say the same."));
  });
}
