/** Movement files written from the number tables of the books. */

type Pairs = readonly (readonly number[])[];

/** A time train given as wheel and pinion pairs from the great wheel to the centre and on to the escape wheel. */
export function timeYaml(
  greatToCentre: Pairs,
  centreToEscape: Pairs,
  escapeTeeth: number,
  turns?: number,
  extra = "",
): string {
  const pairs = [...greatToCentre, ...centreToEscape];
  const arbors = pairs.map(([wheel], i) => {
    const pinion = i === 0 ? "" : `pinion: ${pairs[i - 1]![1]}, `;
    return `a${i}: { ${pinion}wheel: ${wheel}${i === greatToCentre.length ? ", hand: minute" : ""} }`;
  });
  arbors.push(`escape: { pinion: ${pairs.at(-1)![1]}, escape wheel: ${escapeTeeth} }`);
  return `trains:
  time:
    ${turns === undefined ? "" : `power: { turns: ${turns} }`}
    ${extra}
    arbors:
      ${arbors.join("\n      ")}
`;
}

interface StrikeNumbers {
  readonly greatToPinWheel: Pairs;
  readonly pins: number;
  readonly turns: number;
  readonly countWheel: readonly number[] | null;
  readonly detentWheelTurnsPerPinWheelTurn: number;
  readonly detentTurnsPerStroke: number;
}

/**
 * A strike train: great wheel up to the pin wheel, then the detent wheel with as many locking places as bring it
 * home (a double hoop has two). The count wheel stands on the arbor that drives the pin wheel's or, where the book
 * gives a pair for it, is driven by the pin wheel's arbor.
 */
export function strikeYaml(train: StrikeNumbers): string {
  const { greatToPinWheel: pairs, pins } = train;
  const last = pairs.length;
  const detent = train.detentWheelTurnsPerPinWheelTurn;
  const arbors = [...pairs, [detent * 6, 6]].map(([wheel], i) => {
    const pinion = i === 0 ? "" : `pinion: ${pairs[i - 1]![1]}, `;
    return `a${i}: { ${pinion}wheel: ${wheel}${i === last ? `, pins: ${pins}` : ""} }`;
  });
  arbors.push(`detent: { pinion: 6, wheel: 60, locks: ${Math.round(1 / train.detentTurnsPerStroke)} }`);
  if (train.countWheel !== null) {
    const [wheel, driver] = train.countWheel;
    arbors.push(`count: { driven by: a${last}, driver: ${driver}, wheel: ${wheel}, count wheel: yes }`);
  }
  return `trains:
  strike:
    power: { turns: ${train.turns} }
    arbors:
      ${arbors.join("\n      ")}
`;
}
