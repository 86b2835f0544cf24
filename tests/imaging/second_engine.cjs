/* Show device colours as a printing condition would print them, by a colour engine that shares no code with the one we use.
 *
 * node second_engine.cjs REQUEST.json: { source, proof, screen (profile files), channels, pixels (device colours, 0 to 1, one
 * list), steps: [{ from, to, intent, bpc }] } and writes the last step's device colours to standard output as JSON.
 */
const { createRequire } = require("node:module");
const { readFileSync } = require("node:fs");
const { Profile, Transform, eIntent } = createRequire(process.argv[3] + "/")("jscolorengine");

const request = JSON.parse(readFileSync(process.argv[2], "utf8"));
const profiles = Object.fromEntries(Object.entries(request.profiles).map(([name, path]) => {
  const profile = new Profile();
  profile.loadBinary(new Uint8Array(readFileSync(path)));
  if (!profile.loaded) throw new Error(`${path} was not read: ${profile.lastError?.text}`);
  return [name, profile];
}));
let colours = Float64Array.from(request.pixels);
for (const { from, to, intent, bpc } of request.steps) {
  const transform = new Transform({ dataFormat: "device", BPC: bpc, buildLut: false, roundOutput: false });
  transform.create(profiles[from], profiles[to], eIntent[intent]);
  colours = transform.transformArray(colours, false, false, false);
}
process.stdout.write(JSON.stringify([...colours]));
