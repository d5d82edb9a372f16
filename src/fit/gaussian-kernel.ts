/** Weights of a Gaussian at whole steps from -reach to reach, together 1; sigma in steps. */
export function gaussianKernel(sigma: number, reach: number): Float64Array {
  const kernel = Float64Array.from({ length: 2 * reach + 1 }, (_, i) =>
    Math.exp(-0.5 * ((i - reach) / sigma) ** 2),
  );
  const sum = kernel.reduce((total, w) => total + w, 0);
  return kernel.map((w) => w / sum);
}
