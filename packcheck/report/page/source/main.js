// The page without this script is whole; with it the bay can be turned, cut and searched, and tables sort.
import {makeTablesSortable} from "./tables.js";
import {unpacked} from "./unpack.js";
import {Bay} from "./bay.js";
import {connect} from "./controls.js";

makeTablesSortable(document);
start();

async function start() {
  const holder = document.getElementById("model");
  if (!holder) return;
  try {
    const data = JSON.parse(document.getElementById("bay-data").textContent);
    const parts = await unpacked(data.parts, document.getElementById("bay-mesh").textContent);
    holder.hidden = false;
    connect(new Bay(holder.querySelector(".stage"), data, parts), data, holder);
    document.documentElement.dataset.model = "ready";
  } catch (error) {
    holder.hidden = true;
    document.documentElement.dataset.model = "none";
    document.getElementById("no-model").hidden = false;
    console.info(`the 3D model cannot be shown here: ${error.message}`);
  }
}
