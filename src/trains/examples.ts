/**
 * Movement files to start from. All invented for this program; their counts are of usual kinds, but belong to no
 * particular clock.
 */
export const exampleMovements: ReadonlyMap<string, string> = new Map([
  [
    "time-and-strike",
    `# A movement, train by train, from the great wheel up. Change the counts to your own.
#   ?                  a count that is lost; the program works out what it may have been
#   0.80 ± 0.01 mm     a measured size; the figure after ± is its standard uncertainty (leave it out if you don't know)
# Lengths carry their unit: mm, cm, m, in, ft. Names of arbors are yours to choose.
movement: Eight-day clock with count wheel (invented example)

place: { latitude: 51.5, height: 30 m } # for the pendulum; south is negative. Leave it out for standard gravity
pendulum: { arc: 2 deg }                # swing to one side; add length: 994 mm if you have the pendulum

trains:
  time:
    power: { weight: { drop: 1460 mm, drum: 56 mm, line: 2 mm, pulley: yes } }
    arbors: # one a line; each is driven by the one above, through that one's wheel
      great: { wheel: 96 }
      centre: { pinion: 8, wheel: 60, hand: minute }
      third: { pinion: 8, wheel: 56 }
      escape: { pinion: 7, escape wheel: 30, hand: seconds }
  strike:
    strikes: hours # or: hours and halves, quarters, or the blows in 12 hours
    power: { turns: 16 } # turns of the first arbor in one winding, if you have counted them
    blow interval: 2 s
    arbors:
      great: { wheel: 78, count wheel: yes }
      pin wheel: { pinion: 8, wheel: 56, pins: 8 }
      hoop: { pinion: 7, wheel: 56, locks: 1 }   # locks: slots or notches at which it can stop, in a turn
      warning: { pinion: 7, wheel: 48, warning: 1 }
      fly: { pinion: 6, fly: yes }

motion work: { cannon pinion: 40, minute wheel: 40, minute pinion: 6, hour wheel: 72 }
`,
  ],
  [
    "spring-rack",
    `# An eight-day spring clock with rack striking (invented example).
movement: Bracket clock with rack striking (invented example)

beats per hour: 7200 # if you know them: from the dial, a timer, or the papers
pendulum: { length: 248 mm, arc: 3 deg }

trains:
  time:
    power:
      barrel:
        inside: 44 mm
        arbor: 14 mm
        spring length: 1700 ± 20 mm
        spring thickness: 0.35 ± 0.01 mm
        stop work: 8 # turns that it allows
    said to run: 8 days
    arbors:
      barrel: { wheel: 72 }
      second: { pinion: 12, wheel: 48 }
      centre: { pinion: 12, wheel: 80, hand: minute }
      third: { pinion: 8, wheel: 72 }
      escape: { pinion: 8, escape wheel: 40 }
  strike:
    strikes: hours and halves
    power: { turns: 8 }
    rack:
      { snail steps: 12, teeth: 14, radius: 40 mm, tooth pitch: 1.4 mm, tail: 30 mm, snail high: 18 mm, snail low: 6.45 mm }
    arbors:
      barrel: { wheel: 72 }
      second: { pinion: 12, wheel: 60 }
      pin wheel: { pinion: 12, wheel: 60, pins: 6 }
      gathering: { pinion: 10, wheel: 64, gathers: 1 }
      warning: { pinion: 8, wheel: 56, warning: 1 }
      fly: { pinion: 7, fly: yes }

motion work: { cannon pinion: 32, minute wheel: 32, minute pinion: 6, hour wheel: 72 }
`,
  ],
  [
    "missing-wheel",
    `# A lost third wheel and its pinion: what were they? (invented example)
movement: Wall clock with a lost arbor (invented example)

pendulum: { length: 365 ± 2 mm, arc: 2 deg }

trains:
  time:
    power: { turns: 14 }
    arbors:
      great: { wheel: 96 }
      centre: { pinion: 8, wheel: { teeth: 72, tip diameter: 47.8 ± 0.05 mm }, hand: minute }
      third: { pinion: ?, wheel: ?, centre distance: 25.6 ± 0.1 mm }
      escape: { pinion: { leaves: 7, tip diameter: 5.1 ± 0.05 mm }, escape wheel: 33 }
`,
  ],
  [
    "chime",
    `# Time, strike and quarter chime (invented example).
movement: Three-train clock (invented example)

trains:
  time:
    power: { turns: 16 }
    arbors:
      great: { wheel: 96 }
      centre: { pinion: 8, wheel: 64, hand: minute }
      third: { pinion: 8, wheel: 60 }
      escape: { pinion: 8, escape wheel: 30 }
  strike:
    power: { turns: 16 }
    arbors:
      great: { wheel: 78, count wheel: yes }
      pin wheel: { pinion: 8, wheel: 56, pins: 8 }
      locking: { pinion: 7, wheel: 56, locks: 1 }
      warning: { pinion: 7, wheel: 48, warning: 1 }
      fly: { pinion: 6, fly: yes }
  chime: # plays 1, 2, 3 and 4 phrases at the quarters: 10 in an hour
    power: { turns: 16 }
    arbors:
      great: { wheel: 96 }
      second: { pinion: 8, wheel: 80, count wheel: { once in: 1 h } }
      barrel: { driven by: second, driver: 48, wheel: 24, chime barrel: { phrases: 5, phrases per hour: 10 } }
      locking: { driven by: second, pinion: 8, wheel: 64, locks: 1 }
      warning: { pinion: 8, wheel: 64, warning: 1 }
      fly: { pinion: 8, fly: yes }
`,
  ],
]);
