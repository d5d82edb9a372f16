import { useEffect, useState } from "preact/hooks";

/** Where the page is: ["my-clock", "photo", "t2.jpg"], from the part of the address after "#". */
const readRoute = (): string[] =>
  location.hash
    .replace(/^#\/?/, "")
    .split("/")
    .filter((step) => step !== "")
    .map((step) => {
      try {
        return decodeURIComponent(step);
      } catch {
        return step;
      }
    });

export const routeTo = (...steps: readonly string[]): string =>
  `#/${steps.map(encodeURIComponent).join("/")}`;

export function useRoute(): readonly string[] {
  const [route, setRoute] = useState(readRoute);
  useEffect(() => {
    const listen = (): void => setRoute(readRoute());
    addEventListener("hashchange", listen);
    return () => removeEventListener("hashchange", listen);
  }, []);
  return route;
}
