"use strict";
// ---- addresses
async function go_to(address) {
  say("");
  const [, place, name, ...others] = address.split("/").map(decodeURIComponent);
  try {
    show_lead();
    if (place === "part" && name) await part_view(name);
    else if (place === "page" && name) await page_view(name);
    else if (place === "original" && name) await original_view(name);
    else if (place === "plan" && name) await plan_view(name);
    else if (place === "photo") await photo_view(name);
    else if (place === "photos" && name) await photos_view([name, ...others]);
    else if (place === "readings" && name) await readings_view(name);
    else if (place === "readings") await readings_list();
    else if (place === "tables") await tables_view();
    else if (place === "table" && name) await table_view(name, others[0]);
    else if (place === "set" && name) await set_view([name, ...others]);
    else if (place === "devices") await devices_view();
    else await parts_view();
  } catch (error) {
    show("That did not work", el("p", { class: "wrong" }, error.message), el("p", {}, el("a", { href: "#/" }, "All parts")));
  }
}
// One view after the other: a slow one must not come up over the next. Those passed by in between are left out. The
// first waits until the folder is known.
let routing = ask("/api/parts").then((all) => { folder_unit = all.bench.unit || "mm"; document.body.classList.toggle("read-only", all.read_only); }).catch(() => {});
let routes_asked = 0;
function route() {
  const mine = ++routes_asked;
  routing = routing.then(() => mine === routes_asked ? go_to(location.hash) : undefined);
}
document.getElementById("skip").addEventListener("click", () => view.focus());
lead_button.addEventListener("click", () => { remembered.set("lead", inch_first() ? "mm" : "in"); route(); });
window.addEventListener("hashchange", route);
route();
