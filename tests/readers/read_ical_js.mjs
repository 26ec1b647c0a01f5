// Reads calendar files with ical.js; node_modules' folder first, then the files. Prints JSON.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const [modules, ...paths] = process.argv.slice(2);
const ICAL = (await import(pathToFileURL(`${modules}/ical.js/dist/ical.js`))).default;

function read(path) {
  const whole = new ICAL.Component(ICAL.parse(readFileSync(path, "utf-8")));
  // Zones of an earlier file must not explain this one's.
  ICAL.TimezoneService.reset();
  for (const zone of whole.getAllSubcomponents("vtimezone")) {
    ICAL.TimezoneService.register(new ICAL.Timezone(zone));
  }
  return whole.getAllSubcomponents("vevent").map((part) => {
    const event = new ICAL.Event(part);
    const timed = !event.startDate.isDate;
    return [
      event.uid,
      event.sequence,
      part.getFirstPropertyValue("status"),
      event.summary,
      timed ? event.startDate.toUnixTime() : null,
      timed ? event.endDate.toUnixTime() : null,
      part.getAllSubcomponents("valarm").length,
    ];
  });
}

console.log(JSON.stringify(paths.map(read)));
