function chooseOnMap(map, bounds, tiles) {
  "use strict";
  const form = document.getElementById("choose"), day = form.elements.day, lines = form.elements.lines;
  const rule = document.getElementById("chosen"), frame = map.getContainer();
  const crews = Array.from(form.querySelectorAll("input[name=crew]"));
  function fit() {
    map.fitBounds(bounds[day.value] || bounds[""], {animate: false, paddingTopLeft: [12, 12], paddingBottomRight: [12, 30]});
  }
  function sides(label) {
    return label.classList.contains("name") ? ["", "above", "right", "left"] : ["", "short"];
  }
  function meet(one, other) {
    return one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
  }
  function place(label, taken, edge) {
    for (const side of sides(label)) {
      if (side) { label.classList.add(side); }
      const box = label.getBoundingClientRect();
      const cut = box.left < edge.left || box.right > edge.right || box.top < edge.top || box.bottom > edge.bottom;
      if (!(cut && meet(box, edge)) && !taken.some(other => meet(box, other))) {
        taken.push(box);
        return;
      }
      if (side) { label.classList.remove(side); }
    }
    label.classList.add("crowded");
  }
  // No label covers another or a mark: it moves to another side, leaves its date out, or waits for more room.
  function makeRoom() {
    const find = what => Array.from(frame.querySelectorAll(what)).filter(found => found.checkVisibility());
    const names = find(".name"), legs = find(".leg"), edge = frame.getBoundingClientRect();
    const taken = find(".mark svg > *").map(part => part.getBoundingClientRect());
    const labels = day.value ? legs.concat(names) : names.concat(legs);
    labels.forEach(label => label.classList.remove("above", "right", "left", "short", "crowded"));
    labels.forEach(label => place(label, taken, edge));
  }
  function show() {
    const hidden = crews.filter(crew => !crew.checked).map(crew => "." + crew.value);
    if (day.value) { hidden.push(".dated:not(." + day.value + ")"); } else { hidden.push(".homeward"); }
    rule.textContent = hidden.map(name => name + "{display:none!important}").join("\n");
    frame.setAttribute("data-lines", lines.value);
    form.elements.earlier.disabled = day.selectedIndex === 0;
    form.elements.later.disabled = day.selectedIndex === day.length - 1;
    makeRoom();
  }
  function step(by) {
    day.selectedIndex += by;
    show();
    fit();
  }
  function onPaper(is) {
    document.body.classList.toggle("on-paper", is);
    map.invalidateSize({animate: false, pan: false});
    fit();
  }
  form.addEventListener("submit", event => event.preventDefault());
  form.addEventListener("change", event => { show(); if (event.target === day) { fit(); } });
  form.elements.earlier.addEventListener("click", () => step(-1));
  form.elements.later.addEventListener("click", () => step(1));
  form.elements.paper.addEventListener("click", () => {
    const is = form.elements.paper.getAttribute("aria-pressed") !== "true";
    form.elements.paper.setAttribute("aria-pressed", String(is));
    onPaper(is);
  });
  window.addEventListener("beforeprint", () => onPaper(true));
  window.addEventListener("afterprint", () => onPaper(form.elements.paper.getAttribute("aria-pressed") === "true"));
  if (tiles) { L.tileLayer(tiles, {maxZoom: 19}).addTo(map); }
  map.on("zoomend moveend layeradd layerremove", makeRoom);
  form.hidden = false;
  show();
  fit();
}
