/** Serves a page in a process of its own, to be killed: folder and client as arguments, the address on stdout. */
import { folderServices } from "../../src/commands/run-page.js";
import { startPage } from "../../src/page/index.js";

const [folder, clientFolder] = process.argv.slice(2);
const page = await startPage({
  folder: folder!,
  base: ".",
  clientFolder: clientFolder!,
  services: folderServices,
  workers: 1,
});
process.stdout.write(`${page.url}\n`);
