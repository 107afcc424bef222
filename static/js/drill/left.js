// Says what of a drill is still to be shown: a miss ends its round, and a spare round takes the time that is left. The hall keeps the
// same rules in core/rounds/misses.py and minutes.py; a test holds both together.

/** Return the showings still to come of `rounds`; `saidTo(showing, ask)` is what was answered, or undefined. */
export function leftToShow(rounds, saidTo) {
  const so_far = rounds.map((round) => {
    const answered = round.showings.map((showing) => showing.asks.every((ask) => saidTo(showing, ask) !== undefined));
    const ended = round.ends_at_miss && round.showings.some((showing) => isMissed(showing, saidTo));
    return { round, answered, ended, begins: !round.spare || answered.includes(true) };
  });
  const planned = sum(so_far.filter(({ round }) => !round.spare).map(({ answered }) => answered.length));
  let taken = sum(so_far.map(({ answered, ended, begins }) => (begins && !ended ? answered.length : answered.filter(Boolean).length)));
  for (const one of so_far.filter(({ begins }) => !begins)) {
    one.begins = taken + one.answered.length <= planned;
    if (one.begins) taken += one.answered.length;
  }
  return new Set(
    so_far.flatMap(({ round, answered, ended, begins }) => round.showings.filter((_, place) => begins && !ended && !answered[place])),
  );
}

/** Return in how many whole minutes so many pictures are done, at least one. */
export function minutesTold(pictures, secondsEach) {
  return Math.max(1, Math.ceil((pictures * secondsEach) / 60));
}

// Thirds and renditions are extras, and so is a trait asked for: none of them is rated.
function isMissed(showing, saidTo) {
  if (showing.third || showing.rendition !== "as taken") return false;
  return showing.asks.some((ask) => ask.kind === "form" && ![undefined, ask.answer_key].includes(saidTo(showing, ask)));
}

function sum(numbers) {
  return numbers.reduce((one, other) => one + other, 0);
}
