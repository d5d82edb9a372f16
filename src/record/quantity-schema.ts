import { z } from "zod";
import type { Source } from "../quantity/index.js";

const sources = ["scale", "pose", "height", "edge", "fit", "resolution"] as const satisfies readonly Source[];

const budgetEntrySchema = z
  .object({
    source: z.enum(sources),
    input: z
      .string()
      .exactOptional()
      .meta({ description: "The one input meant, where it can be acted on alone" }),
    u: z.number().nonnegative(),
  })
  .meta({ description: "One contribution to a standard uncertainty, in the unit of its quantity" });

/** Builds a quantity's schema: value, standard uncertainty (k = 1) and its budget. */
export const quantitySchema = z
  .object({
    value: z.number(),
    u: z.number().nonnegative().meta({ description: "Standard uncertainty, k = 1" }),
    budget: z
      .array(budgetEntrySchema)
      .exactOptional()
      .meta({ description: "Contributions, largest first; their squares add up to u squared" }),
  })
  .meta({ id: "quantity", description: "A measured quantity; the unit stands in its key" });
