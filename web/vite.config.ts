import { defineConfig } from "vite";

// Nothing inline: the server forbids it. Fonts stay files.
export default defineConfig({
  base: "./",
  esbuild: { jsx: "automatic", jsxImportSource: "preact" },
  build: { target: "es2021", assetsInlineLimit: 0, modulePreload: { polyfill: false }, chunkSizeWarningLimit: 900 },
  server: { proxy: { "/api": process.env.FETTLE_SERVER ?? "http://127.0.0.1:8190" } },
});
