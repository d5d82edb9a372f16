import { fileURLToPath } from "node:url";

/** The built client; two steps up from src/page/ and from dist/program/ lies the package. */
export const clientFolder = fileURLToPath(new URL("../../dist/page/client/", import.meta.url));
