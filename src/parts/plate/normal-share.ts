/** Distribution function of the normal law; logistic approximation, within 0.01. */
export const normalShare = (z: number): number => 1 / (1 + Math.exp(-z * (1.5976 + 0.07056 * z * z)));
