import { relative, resolve } from 'node:path';
import type { AddCommand } from '../program.ts';

export const addPlates: AddCommand = (program, io) => {
  program
    .command('plates')
    .description(
      'gaps under plates and over cut-outs as left, fillers from stock, clearance, drawings to lay out and drill',
    )
    .argument('<job>', 'job folder; its plates stand in job.json')
    .option(
      '--drawing [file]',
      'write the openings of panels with their plates to scale, and templates for drilling, as a printable page (default: reports/plate-drawing.html)',
    )
    .option('--json', 'print the result as JSON (schema sweepbook/plates/1, SI units)')
    .addHelpText(
      'after',
      `
In job.json: "plates": [{ "name": "cover plate", "line": "bottom-flange", "from": "24 ft", "to": "34 ft",
"thickness": "1/2 in", "side": "positive", "gapLimit": "1/16 in", "gapLimitSource": "special provision, 4.2" }]
An opening stands in its panel: "cutOut": { "stations": ["24 ft", "25 ft"], "heights": ["14 in", "26 in"], "radius": "2 in",
"plate": { "sides": "both", "thickness": "3/8 in", "boltDiameter": "7/8 in", "rows": 1, "pitch": "4 in", "fromOpening": "2 in",
"edgeDistance": "1 1/2 in", "leastEdge": "1 1/8 in", "leastEdgeSource": "specification, table 3" } }

Example:
  sweepbook plates juniper-lane-girder-4
  sweepbook plates brickfield-row --drawing
`,
    )
    .action(async (folder: string, options: { json?: boolean; drawing?: string | true }) => {
      const [{ keptPaper }, { madeBy }] = await Promise.all([
        import('../kept-papers.ts'),
        import('../made-by.ts'),
      ]);
      const at = resolve(io.cwd, folder);
      const asJson = options.json === true;
      const made = options.drawing === undefined ? null : madeBy(io, `Sweepbook ${program.version()}`);
      const { drawing, text } = await keptPaper(at, ['plates', asJson || io.columns, made], async (files) => {
        const [{ atHand }, { drawingPaper, platesPapers }] = await Promise.all([
          import('../at-hand.ts'),
          import('../../papers/papers.ts'),
        ]);
        const job = await atHand(at, files);
        const papers = platesPapers(job, io.columns);
        return {
          drawing: made === null ? null : drawingPaper(job, made),
          text: (asJson ? papers.json : papers.text).text,
        };
      });
      if (drawing !== null) {
        const { sheetPath, writeSheet } = await import('../write-sheet.ts');
        const path = sheetPath(at, drawing.file, options.drawing === true ? undefined : options.drawing, io);
        await writeSheet(at, path, drawing.text);
        (asJson ? io.err : io.out)(`${relative(io.cwd, path) || path}\n`);
        if (!asJson) return;
      }
      io.out(text);
    });
};
