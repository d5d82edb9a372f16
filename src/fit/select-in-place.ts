/**
 * The value that would stand at index k (0 is the smallest) were the list sorted. Reorders the list: what comes
 * before k is not larger, what comes after not smaller.
 *
 * @param values without NaN.
 * Source: C. A. R. Hoare, Algorithm 65: Find, 1961 (from memory), the middle of three as the pivot.
 */
export function selectInPlace(values: Float64Array, k: number): number {
  let low = 0;
  let high = values.length - 1;
  while (low < high) {
    const pivot = middleOf(values[low]!, values[(low + high) >> 1]!, values[high]!);
    let i = low;
    let j = high;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i <= j) {
        const swapped = values[i]!;
        values[i++] = values[j]!;
        values[j--] = swapped;
      }
    }
    if (k <= j) high = j;
    else if (k >= i) low = i;
    else break;
  }
  return values[k]!;
}

const middleOf = (a: number, b: number, c: number): number =>
  a < b ? (b < c ? b : a < c ? c : a) : a < c ? a : b < c ? c : b;
