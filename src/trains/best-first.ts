/** A choice of one alternative for every place, and the product of their weights. */
export interface Choice {
  readonly indices: readonly number[];
  readonly weight: number;
}

/**
 * All choices of one alternative per place, heaviest first, made as they are asked for. Alternatives must be in
 * falling order of weight; each choice is reached once, by stepping only places at or after the last one stepped.
 */
export function* bestFirst(weights: readonly (readonly number[])[]): Generator<Choice, void, void> {
  const weightOf = (indices: readonly number[]) =>
    indices.reduce((product, index, place) => product * weights[place]![index]!, 1);
  const heap: (Choice & { readonly from: number })[] = [];
  const push = (indices: readonly number[], from: number) => {
    let at = heap.push({ indices, weight: weightOf(indices), from }) - 1;
    while (at > 0) {
      const parent = (at - 1) >> 1;
      if (heap[parent]!.weight >= heap[at]!.weight) break;
      [heap[parent], heap[at]] = [heap[at]!, heap[parent]!];
      at = parent;
    }
  };
  const pop = () => {
    const top = heap[0]!;
    const last = heap.pop()!;
    if (heap.length === 0) return top;
    heap[0] = last;
    for (let at = 0; ;) {
      const left = 2 * at + 1;
      let heaviest = at;
      if (left < heap.length && heap[left]!.weight > heap[heaviest]!.weight) heaviest = left;
      if (left + 1 < heap.length && heap[left + 1]!.weight > heap[heaviest]!.weight) heaviest = left + 1;
      if (heaviest === at) return top;
      [heap[at], heap[heaviest]] = [heap[heaviest]!, heap[at]!];
      at = heaviest;
    }
  };
  push(new Array<number>(weights.length).fill(0), 0);
  while (heap.length > 0) {
    const { indices, weight, from } = pop();
    yield { indices, weight };
    for (let place = from; place < weights.length; place++) {
      if (indices[place]! + 1 >= weights[place]!.length) continue;
      push(
        indices.map((index, i) => (i === place ? index + 1 : index)),
        place,
      );
    }
  }
}
