/**
 * Exact rational number in lowest terms, denominator positive. Tooth counts multiply to numbers beyond the
 * exact range of a float in a long train, and "does it come out to exactly twelve" must never be a rounding.
 */
export class Ratio {
  private constructor(
    readonly numerator: bigint,
    readonly denominator: bigint,
  ) {}

  /** @throws RangeError if the denominator is 0, or an argument is a number that is not a safe integer. */
  static of(numerator: bigint | number, denominator: bigint | number = 1n): Ratio {
    const n = toBigInt(numerator);
    const d = toBigInt(denominator);
    if (d === 0n) throw new RangeError("a ratio cannot have 0 below the line");
    const divisor = greatestCommonDivisor(n < 0n ? -n : n, d < 0n ? -d : d);
    const sign = d < 0n ? -1n : 1n;
    return new Ratio((sign * n) / divisor, (sign * d) / divisor);
  }

  static readonly one = new Ratio(1n, 1n);
  static readonly zero = new Ratio(0n, 1n);

  times(other: Ratio): Ratio {
    return Ratio.of(this.numerator * other.numerator, this.denominator * other.denominator);
  }

  /** @throws RangeError if `other` is 0. */
  over(other: Ratio): Ratio {
    return Ratio.of(this.numerator * other.denominator, this.denominator * other.numerator);
  }

  minus(other: Ratio): Ratio {
    return Ratio.of(
      this.numerator * other.denominator - other.numerator * this.denominator,
      this.denominator * other.denominator,
    );
  }

  /** Whole powers only, negative ones too. */
  toPower(exponent: number): Ratio {
    const size = BigInt(Math.abs(exponent));
    return exponent < 0
      ? Ratio.of(this.denominator ** size, this.numerator ** size)
      : Ratio.of(this.numerator ** size, this.denominator ** size);
  }

  equals(other: Ratio): boolean {
    return this.numerator === other.numerator && this.denominator === other.denominator;
  }

  /** Negative, 0 or positive as this is below, equal to or above `other`. */
  compare(other: Ratio): number {
    const difference = this.numerator * other.denominator - other.numerator * this.denominator;
    return difference < 0n ? -1 : difference > 0n ? 1 : 0;
  }

  isWhole(): boolean {
    return this.denominator === 1n;
  }

  toNumber(): number {
    const bits = Math.max(bitLength(this.numerator), bitLength(this.denominator));
    if (bits <= 1000) return Number(this.numerator) / Number(this.denominator);
    // Both beyond the largest float: drop the same number of low bits from each.
    const shift = BigInt(bits - 1000);
    return Number(this.numerator >> shift) / Number(this.denominator >> shift);
  }

  /** "155/2", or "78" when whole. */
  toString(): string {
    return this.isWhole() ? `${this.numerator}` : `${this.numerator}/${this.denominator}`;
  }
}

/** A ratio as results carry it: exact as text, and as a number for reading. */
export interface RatioJson {
  readonly exact: string;
  readonly value: number;
}

export const ratioJson = (ratio: Ratio): RatioJson => ({ exact: ratio.toString(), value: ratio.toNumber() });

const toBigInt = (value: bigint | number): bigint => {
  if (typeof value === "bigint") return value;
  if (!Number.isSafeInteger(value)) throw new RangeError(`a whole number was expected, received ${value}`);
  return BigInt(value);
};

const bitLength = (value: bigint): number => (value < 0n ? -value : value).toString(16).length * 4;

function greatestCommonDivisor(a: bigint, b: bigint): bigint {
  while (b !== 0n) [a, b] = [b, a % b];
  return a;
}
