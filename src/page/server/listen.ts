import { once } from "node:events";
import { createServer, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import { getRequestListener } from "@hono/node-server";
import type { Hono } from "hono";
import { UsageError } from "../../problem/index.js";

export interface Listening {
  /** As it stands in the Host of requests: "127.0.0.1:4711". */
  readonly host: string;
  readonly port: number;
  close(): Promise<void>;
}

/** Serves `app` at one address. @param port 0: any that is free. @throws UsageError if the port is taken. */
export async function listen(app: Hono, address: string, port: number): Promise<Listening> {
  const handle = getRequestListener(app.fetch);
  const server: Server = createServer(
    { requestTimeout: 10 * 60_000, headersTimeout: 20_000, maxHeaderSize: 16_384 },
    (req, res) => {
      void handle(req, res);
    },
  );
  server.maxConnections = 200;
  server.listen(port, address);
  try {
    await once(server, "listening");
  } catch (cause) {
    const code = cause instanceof Error && "code" in cause ? String(cause.code) : "unknown reason";
    throw new UsageError(
      code === "EADDRINUSE"
        ? `--port ${port}: another program has this port; name another one, or leave it out`
        : `the page cannot be served at ${address}: ${code}`,
      { cause },
    );
  }
  const { port: own } = server.address() as AddressInfo;
  return {
    host: `${address}:${own}`,
    port: own,
    close: async () => {
      server.close();
      server.closeAllConnections();
      if (server.listening) await once(server, "close");
    },
  };
}
