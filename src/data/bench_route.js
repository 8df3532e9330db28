"use strict";
// ---- addresses
async function route() {
  say("");
  const [, place, name] = location.hash.split("/").map(decodeURIComponent);
  try {
    if (place === "part" && name) await part_view(name);
    else if (place === "original" && name) await original_view(name);
    else if (place === "plan" && name) await plan_view(name);
    else if (place === "photo") await photo_view(name);
    else if (place === "readings" && name) await readings_view(name);
    else if (place === "readings") await readings_list();
    else await parts_view();
  } catch (error) {
    show("That did not work", el("p", { class: "wrong" }, error.message), el("p", {}, el("a", { href: "#/" }, "All parts")));
  }
}
document.getElementById("skip").addEventListener("click", () => view.focus());
window.addEventListener("hashchange", route);
route();
