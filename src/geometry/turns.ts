const fullTurn = 2 * Math.PI;

/** The same direction within one turn from 0: at least 0, less than 2π. */
export const withinTurn = (rad: number): number => ((rad % fullTurn) + fullTurn) % fullTurn;

/** The same direction nearest to 0: between -π and π. */
export const nearestTurn = (rad: number): number => rad - fullTurn * Math.round(rad / fullTurn);

/** Place `index` of `n` places round a circle, 0 to n - 1; whole numbers of either sign. */
export const placeInTurn = (index: number, n: number): number => ((index % n) + n) % n;
