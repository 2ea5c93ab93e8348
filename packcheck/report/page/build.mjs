// Builds ../page/built: the page's script with the 3D library in it, the library's licence, and what it was built of.
//
//     cd packcheck/report/page && npm ci --ignore-scripts && npm run build
import {execFileSync} from "node:child_process";
import {createHash} from "node:crypto";
import {copyFileSync, mkdirSync, readFileSync, readdirSync, writeFileSync} from "node:fs";
import {createRequire} from "node:module";

const bundler = createRequire(import.meta.url).resolve(`@esbuild/${process.platform}-${process.arch}/bin/esbuild`);
mkdirSync("built", {recursive: true});
execFileSync(bundler, ["source/main.js", "--bundle", "--minify", "--format=iife", "--target=es2020",
  "--charset=ascii", "--legal-comments=inline", "--outfile=built/page.js"], {stdio: "inherit"});
copyFileSync("node_modules/three/LICENSE", "built/three-LICENSE.txt");
const {version} = JSON.parse(readFileSync("node_modules/three/package.json"));
writeFileSync("built/three-VERSION.txt", `${version}\n`);
const files = ["package.json", "package-lock.json", ...readdirSync("source").sort().map((name) => `source/${name}`)];
const sums = files.map((file) => `${createHash("sha256").update(readFileSync(file)).digest("hex")}  ${file}\n`);
writeFileSync("built/SOURCES.txt", sums.join(""));
