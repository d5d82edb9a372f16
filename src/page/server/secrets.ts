import { createHash, randomBytes, timingSafeEqual } from "node:crypto";

/** A secret that cannot be guessed: 192 bits, letters that an address may hold. */
export const newSecret = (): string => randomBytes(24).toString("base64url");

/** Compares without telling by its time how much was right: both are hashed first, so lengths do not show either. */
export function isSameSecret(given: string | undefined, secret: string): boolean {
  if (given === undefined) return false;
  const hash = (text: string): Buffer => createHash("sha256").update(text).digest();
  return timingSafeEqual(hash(given), hash(secret));
}
