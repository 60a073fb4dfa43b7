function chooseOnMap(map, bounds, tiles) {
  "use strict";
  const form = document.getElementById("choose"), day = form.elements.day, lines = form.elements.lines;
  const rule = document.getElementById("chosen"), frame = map.getContainer();
  const crews = Array.from(form.querySelectorAll("input[name=crew]"));
  function fit() {
    map.fitBounds(bounds[day.value] || bounds[""], {animate: false, paddingTopLeft: [12, 12], paddingBottomRight: [12, 30]});
  }
  function show() {
    const hidden = crews.filter(crew => !crew.checked).map(crew => "." + crew.value);
    if (day.value) { hidden.push(".dated:not(." + day.value + ")"); } else { hidden.push(".homeward"); }
    rule.textContent = hidden.map(name => name + "{display:none!important}").join("\n");
    frame.setAttribute("data-lines", lines.value);
    form.elements.earlier.disabled = day.selectedIndex === 0;
    form.elements.later.disabled = day.selectedIndex === day.length - 1;
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
  form.hidden = false;
  show();
  fit();
}
