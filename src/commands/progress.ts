export interface Progress {
  step(): void;
  stop(): void;
}

/** A bar while several photographs are measured and somebody watches; otherwise silence. */
export async function startProgress(count: number, stream: NodeJS.WritableStream): Promise<Progress> {
  if (count < 2 || !("isTTY" in stream) || stream.isTTY !== true)
    return { step: () => undefined, stop: () => undefined };
  const { default: cliProgress } = await import("cli-progress");
  const bar = new cliProgress.SingleBar({
    stream,
    format: "{bar} {value} of {total} photographs",
    barCompleteChar: "█",
    barIncompleteChar: "░",
    hideCursor: true,
    clearOnComplete: true,
    // The terminal's own interrupt restores the cursor through stop().
    gracefulExit: true,
  });
  bar.start(count, 0);
  return { step: () => void bar.increment(), stop: () => void bar.stop() };
}
