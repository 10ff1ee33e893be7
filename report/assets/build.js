// Bundles the chart library into built/echarts.js and puts its licences beside it.
// Run by `make assets` after `npm ci --ignore-scripts`; the same input gives the same bytes.
"use strict";
const fs = require("node:fs");
const path = require("node:path");
const esbuild = require("esbuild");

const here = (...parts) => path.join(__dirname, ...parts);
const out = here("built", "echarts.js");

// The library's own notice opens each of its files; minifying would drop it.
const opening = fs.readFileSync(here("node_modules", "echarts", "core.js"), "utf8").match(/\/\*[^]*?\*\//);
if (!opening || !opening[0].includes("Licensed to the Apache Software Foundation")) {
  throw new Error("the chart library's licence notice is not where it was; keep it in the bundle");
}

esbuild.buildSync({
  entryPoints: [here("echarts.entry.js")],
  absWorkingDir: __dirname,
  bundle: true,
  minify: true,
  format: "iife",
  globalName: "echarts",
  target: "es2018",
  define: { "process.env.NODE_ENV": '"production"' },
  legalComments: "eof",
  banner: { js: opening[0].replace(/\r\n/g, "\n") },
  outfile: out,
});

// The single-file report puts this text between <script> tags.
const text = fs.readFileSync(out, "utf8");
for (const bad of ["</script", "<!--", __dirname]) {
  if (text.toLowerCase().includes(bad.toLowerCase())) {
    fs.unlinkSync(out);
    throw new Error(`the bundle holds ${JSON.stringify(bad)} and can't be put into a page`);
  }
}
const licences = [
  ["echarts", "echarts/LICENSE"],
  ["echarts notice", "echarts/NOTICE"],
  ["d3, of which echarts has parts", "echarts/licenses/LICENSE-d3"],
  ["zrender", "zrender/LICENSE"],
  ["tslib", "tslib/LICENSE.txt"],
];
fs.writeFileSync(
  here("built", "echarts-licences.txt"),
  licences
    .map(([name, file]) => `==== ${name} ====\n\n${fs.readFileSync(here("node_modules", file), "utf8").replace(/\r\n/g, "\n").trim()}\n`)
    .join("\n"),
);
