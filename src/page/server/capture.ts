import { networkInterfaces } from "node:os";
import { generateCookie, getCookie } from "hono/cookie";
import { bodyLimit } from "hono/body-limit";
import { Hono } from "hono";
import type { CaptureHint, CaptureState } from "../wire.js";
import { clientAnswer, type ClientFile } from "./client-files.js";
import { ownHostOnly, refuse, securityHeaders } from "./guard.js";
import { listen, type Listening } from "./listen.js";
import { PageError, statusOf } from "./page-error.js";
import { frameOf } from "./pictures.js";
import { receivePhoto } from "./receive-photo.js";
import { isSameSecret, newSecret } from "./secrets.js";
import type { SurveyDesk } from "./survey-desk.js";

/** So many wrong tokens, and capture is switched off. */
const mostWrong = 20;

export interface CaptureOptions {
  readonly files: ReadonlyMap<string, ClientFile>;
  /** Addresses of this machine that a phone can reach; tests hand in the loopback. */
  readonly addresses?: () => readonly string[];
}

/**
 * The phone's way in: a server of its own on the local network, there only while it is switched on. Its address
 * holds a token that opens it for one phone, once; that phone then has a cookie, and can hand in photographs, and
 * nothing else.
 */
export class Capture {
  private server: Listening | undefined;
  private token = "";
  private cookie = "";
  private joined = false;
  private received = 0;
  private wrong = 0;
  private words: string | undefined;
  private qr: readonly string[] = [];
  private hinting = false;
  /** Photographs that this phone sent. */
  private readonly names = new Set<string>();

  constructor(
    private readonly desk: SurveyDesk,
    private readonly options: CaptureOptions,
  ) {}

  state(): CaptureState {
    const open = this.server !== undefined && !this.joined;
    return {
      on: this.server !== undefined,
      ...(open ? { url: this.url(), qr: this.qr } : {}),
      phoneJoined: this.joined,
      received: this.received,
      ...(this.words === undefined ? {} : { words: this.words }),
    };
  }

  /** Switches on, with a new token. @throws PageError if the machine is in no local network. */
  async start(): Promise<void> {
    await this.stop();
    const [address] = (this.options.addresses ?? localAddresses)();
    if (address === undefined) {
      this.words = "this computer is in no local network; join one, or carry the files over";
      throw new PageError("invalid", this.words);
    }
    this.token = newSecret();
    this.cookie = newSecret();
    this.joined = false;
    this.received = 0;
    this.names.clear();
    this.wrong = 0;
    this.words = undefined;
    this.server = await listen(this.app(), address, 0);
    this.qr = await qrRows(this.url());
  }

  async stop(): Promise<void> {
    const server = this.server;
    this.server = undefined;
    this.token = "";
    this.cookie = "";
    this.joined = false;
    await server?.close();
  }

  private url(): string {
    return this.server === undefined ? "" : `http://${this.server.host}/${this.token}/`;
  }

  private app(): Hono {
    const app = new Hono();
    app.use(securityHeaders(true));
    app.use(ownHostOnly(() => (this.server ? [this.server.host] : [])));
    app.onError((error, c) =>
      error instanceof PageError
        ? c.json(refuse(error.message, error.code), statusOf[error.code])
        : c.json(refuse("this did not work", "unexpected"), 500),
    );
    app.notFound((c) => c.json(refuse("nothing here", "not-found"), 404));
    const isPhone = (cookie: string | undefined): boolean =>
      this.joined && this.cookie !== "" && isSameSecret(cookie, this.cookie);

    // What the page is made of holds no secret.
    app.get("/assets/:file", (c) => {
      const file = this.options.files.get(`assets/${c.req.param("file")}`);
      return file ? clientAnswer(file, accepts(c.req.header("accept-encoding"))) : c.notFound();
    });
    app.get("/camera/", (c) => {
      if (!isPhone(getCookie(c, "wheelsurvey-phone"))) return c.json(refuse(notIn, "forbidden"), 401);
      return clientAnswer(this.options.files.get("capture.html")!, accepts(c.req.header("accept-encoding")));
    });
    app.post("/camera/photos", async (c) => {
      if (!isPhone(getCookie(c, "wheelsurvey-phone"))) return c.json(refuse(notIn, "forbidden"), 401);
      const { name, known } = await receivePhoto(c, this.desk);
      if (!known) this.received++;
      this.names.add(name);
      this.desk.say({ type: "changed", what: "capture" });
      return c.json({ name, known });
    });
    app.post("/camera/hint", bodyLimit({ maxSize: 4_000_000 }), async (c) => {
      if (!isPhone(getCookie(c, "wheelsurvey-phone"))) return c.json(refuse(notIn, "forbidden"), 401);
      return c.json(await this.look(async () => new Uint8Array(await c.req.arrayBuffer())));
    });
    app.get("/camera/photos/:photo/hint", async (c) => {
      if (!isPhone(getCookie(c, "wheelsurvey-phone"))) return c.json(refuse(notIn, "forbidden"), 401);
      const name = c.req.param("photo");
      // The phone is told of what it sent, and of nothing else.
      if (!this.names.has(name)) return c.json(refuse("nothing here", "not-found"), 404);
      const { file } = this.desk.photo(name);
      return c.json(await this.look(() => frameOf(file.path)));
    });
    app.get("/:token/", async (c) => {
      if (isPhone(getCookie(c, "wheelsurvey-phone"))) return c.redirect("/camera/");
      const right = this.token !== "" && isSameSecret(c.req.param("token"), this.token);
      if (!right) {
        await this.countWrong();
        return c.json(refuse(notIn, "forbidden"), 401);
      }
      // One phone, once: the address on the screen is worth nothing from here on.
      this.token = "";
      this.joined = true;
      this.desk.say({ type: "changed", what: "capture" });
      // The page itself, not a redirect to it: after a scan a strict cookie would not come along to the next address.
      const answer = clientAnswer(
        this.options.files.get("capture.html")!,
        accepts(c.req.header("accept-encoding")),
      );
      const cookie = generateCookie("wheelsurvey-phone", this.cookie, {
        httpOnly: true,
        sameSite: "Strict",
        path: "/",
      });
      answer.headers.append("set-cookie", cookie);
      return answer;
    });
    return app;
  }

  private async look(frame: () => Promise<Uint8Array>): Promise<CaptureHint> {
    // One look at a time: the next frame comes soon enough.
    if (this.hinting) return { ok: false, code: "busy", text: "" };
    this.hinting = true;
    try {
      const { captureHint } = await import("./capture-hints.js");
      return await captureHint(await frame());
    } finally {
      this.hinting = false;
    }
  }

  private async countWrong(): Promise<void> {
    if (++this.wrong < mostWrong) return;
    this.words = "somebody tried wrong addresses, so taking photographs with the phone was switched off";
    const server = this.server;
    this.server = undefined;
    this.token = "";
    this.cookie = "";
    this.desk.say({ type: "changed", what: "capture" });
    // This very request is still to be answered.
    setTimeout(() => void server?.close(), 50);
    await Promise.resolve();
  }
}

const notIn = "this address was used already, or is wrong; show the code on the bench page anew";

export const accepts = (header: string | undefined): boolean => /\bbr\b/.test(header ?? "");

/** IPv4 addresses of this machine in private networks, those of usual home networks first. */
export function localAddresses(): string[] {
  const all = Object.values(networkInterfaces()).flatMap((list) => list ?? []);
  const own = all
    .filter(({ family, internal }) => family === "IPv4" && !internal)
    .map(({ address }) => address);
  const rank = (address: string): number =>
    address.startsWith("192.168.")
      ? 0
      : address.startsWith("10.")
        ? 1
        : /^172\.(1[6-9]|2\d|3[01])\./.test(address)
          ? 2
          : 3;
  // An address of the open internet is no local network.
  return own.filter((address) => rank(address) < 3).sort((a, b) => rank(a) - rank(b));
}

async function qrRows(text: string): Promise<string[]> {
  const { default: qrcode } = await import("qrcode-generator");
  const code = qrcode(0, "M");
  code.addData(text);
  code.make();
  const n = code.getModuleCount();
  return Array.from({ length: n }, (_, y) =>
    Array.from({ length: n }, (_, x) => (code.isDark(y, x) ? "1" : "0")).join(""),
  );
}
