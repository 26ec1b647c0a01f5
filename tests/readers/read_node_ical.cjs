// Reads calendar files with node-ical; node_modules' folder first, then the files. Prints JSON.
const [modules, ...paths] = process.argv.slice(2);
const ical = require(`${modules}/node-ical`);

function read(path) {
  const events = Object.values(ical.sync.parseFile(path)).filter((part) => part.type === "VEVENT");
  return events.map((event) => {
    const timed = event.datetype !== "date";
    return [
      event.uid,
      Number(event.sequence),
      event.status,
      event.summary,
      timed ? event.start.getTime() / 1000 : null,
      timed ? event.end.getTime() / 1000 : null,
      (event.alarms ?? []).length,
    ];
  });
}

console.log(JSON.stringify(paths.map(read)));
