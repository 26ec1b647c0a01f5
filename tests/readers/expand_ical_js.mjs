// Lays out the timed entries of calendar files with ical.js; node_modules' folder, then first and
// last UNIX time to look at, then the files. Prints, for each file, its spans as [start, end].
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const [modules, first, last, ...paths] = process.argv.slice(2);
const ICAL = (await import(pathToFileURL(`${modules}/ical.js/dist/ical.js`))).default;
const OFF = ["CANCELLED", "TRANSPARENT", "FREE"];

function keepsNobodyBusy(component) {
  const names = ["status", "transp", "x-microsoft-cdo-busystatus"];
  return names.some((name) => OFF.includes(component.getFirstPropertyValue(name)));
}

function spansOf(event) {
  const found = [];
  const iterator = event.iterator();
  for (let next = iterator.next(); next && next.toUnixTime() <= last; next = iterator.next()) {
    const shown = event.getOccurrenceDetails(next);
    if (keepsNobodyBusy(shown.item.component)) continue;
    found.push([shown.startDate.toUnixTime(), shown.endDate.toUnixTime()]);
  }
  return found;
}

function expand(path) {
  const whole = new ICAL.Component(ICAL.parse(readFileSync(path, "utf-8")));
  ICAL.TimezoneService.reset();
  for (const zone of whole.getAllSubcomponents("vtimezone")) {
    ICAL.TimezoneService.register(new ICAL.Timezone(zone));
  }
  const parts = whole.getAllSubcomponents("vevent");
  const series = parts.filter((part) => !part.hasProperty("recurrence-id"));
  const changes = parts.filter((part) => part.hasProperty("recurrence-id"));
  const events = series.map((part) => {
    const uid = part.getFirstPropertyValue("uid");
    const own = changes.filter((change) => change.getFirstPropertyValue("uid") === uid);
    return new ICAL.Event(part, { exceptions: own, strictExceptions: true });
  });
  const spans = events.flatMap(spansOf).filter(([start, end]) => end > first && start < last);
  return spans.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
}

console.log(JSON.stringify(paths.map(expand)));
