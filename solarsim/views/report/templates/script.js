"use strict";
// Where several tables of one kind follow each other, a list chooses which one the screen shows; paper shows all.
for (const group of document.querySelectorAll("[data-choose]")) {
  const parts = Array.from(group.querySelectorAll(":scope > [data-name]"));
  const label = document.createElement("label");
  const select = document.createElement("select");
  label.append(group.dataset.choose + ": ", select);
  for (const part of parts) {
    select.add(new Option(part.dataset.name, String(select.length)));
  }
  const show = () => parts.forEach((part, place) => part.classList.toggle("off", place !== select.selectedIndex));
  select.selectedIndex = Number(group.dataset.first || 0);
  select.addEventListener("change", show);
  label.className = "choose";
  group.prepend(label);
  show();
}
