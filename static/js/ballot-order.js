/* Places of a ballot: plain lists, no page. A ballot is groups of options, best first; what is in none is not placed. */

/** Groups from the place each option was given; empty places are left out, and places close up. */
export function groupsOf(places) {
  const groups = new Map();
  for (const [option, place] of places) {
    if (place) groups.set(place, [...(groups.get(place) ?? []), option]);
  }
  return [...groups.keys()].sort((a, b) => a - b).map((place) => groups.get(place));
}

const without = (groups, option) => groups.map((group) => group.filter((one) => one !== option)).filter((group) => group.length);

const placeIn = (groups, option) => groups.findIndex((group) => group.includes(option));

/** The option stands alone right above the group that was above it; not placed, it becomes the last. */
export function movedUp(groups, option) {
  const at = placeIn(groups, option);
  if (at < 0) return [...groups, [option]];
  const alone = groups[at].length === 1;
  if (at === 0 && alone) return groups;
  const rest = without(groups, option);
  const to = alone ? at - 1 : at;
  return [...rest.slice(0, to), [option], ...rest.slice(to)];
}

/** The option stands alone right below the group that was below it; the last of all is not placed any more. */
export function movedDown(groups, option) {
  const at = placeIn(groups, option);
  if (at < 0) return groups;
  const alone = groups[at].length === 1;
  const rest = without(groups, option);
  if (at === groups.length - 1 && alone) return rest;
  const to = at + 1;
  return [...rest.slice(0, to), [option], ...rest.slice(to)];
}

/** The option stands alone where another one was, which moves down by one; before what is not placed it is the last. */
export function putBefore(groups, option, other) {
  if (option === other) return groups;
  const rest = without(groups, option);
  const to = placeIn(rest, other);
  if (to < 0) return [...rest, [option]];
  return [...rest.slice(0, to), [option], ...rest.slice(to)];
}
