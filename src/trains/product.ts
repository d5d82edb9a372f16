import type { Gear } from "./movement.js";
import { Ratio } from "./ratio.js";

/**
 * A product of tooth counts and plain numbers, some of whose counts are not known yet: the known part as an
 * exact ratio, the unknown ones by position with their power. Speeds of arbors are such products; where an
 * unknown count stands on both sides it cancels, so a lost great wheel does not hide the beats.
 */
export interface Product {
  readonly known: Ratio;
  readonly unknown: ReadonlyMap<string, number>;
}

export const productOf = (known: Ratio): Product => ({ known, unknown: new Map() });

export const unity: Product = productOf(Ratio.one);

export const wholeProduct = (count: number): Product => productOf(Ratio.of(count));

export const toothProduct = (gear: Gear): Product =>
  gear.teeth === "missing"
    ? { known: Ratio.one, unknown: new Map([[gear.position, 1]]) }
    : wholeProduct(gear.teeth);

export const times = (a: Product, b: Product): Product => combined(a, b, 1);

export const over = (a: Product, b: Product): Product => combined(a, b, -1);

/** The value, if every count in it is known. */
export const valueOf = (product: Product | undefined): Ratio | undefined =>
  product !== undefined && product.unknown.size === 0 ? product.known : undefined;

/** The value with counts put in for the unknown ones; undefined if one is still wanting. */
export function valueWith(product: Product, counts: ReadonlyMap<string, number>): Ratio | undefined {
  let value = product.known;
  for (const [position, power] of product.unknown) {
    const count = counts.get(position);
    if (count === undefined) return undefined;
    value = value.times(Ratio.of(count).toPower(power));
  }
  return value;
}

function combined(a: Product, b: Product, sign: 1 | -1): Product {
  const unknown = new Map(a.unknown);
  for (const [position, power] of b.unknown) {
    const sum = (unknown.get(position) ?? 0) + sign * power;
    if (sum === 0) unknown.delete(position);
    else unknown.set(position, sum);
  }
  return { known: sign === 1 ? a.known.times(b.known) : a.known.over(b.known), unknown };
}
