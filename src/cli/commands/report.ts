import { relative, resolve } from 'node:path';
import { Option } from 'commander';
import type { Fraction } from '../../report/quantities.ts';
import type { AddCommand } from '../program.ts';

interface Options {
  readonly final?: boolean;
  readonly out?: string;
  readonly fraction: string;
  readonly plain?: boolean;
  readonly full?: boolean;
  readonly pdf?: boolean;
  readonly photoExif?: boolean;
  readonly paper?: 'A4' | 'letter';
  readonly json?: boolean;
}

export const addReport: AddCommand = (program, io) => {
  program
    .command('report')
    .description(
      'write the daily sheet, or with --final the as-found against as-left report, as one HTML file',
    )
    .argument('<job>', 'job folder')
    .option('--final', 'as found against as left, with every reading, files and sign-off')
    .option('--out <file>', 'where to write it (default: the reports folder of the job)')
    .addOption(
      new Option('--fraction <n>', 'round inches to 1/n in the tables; decimals stay on hover')
        .choices(['8', '16', '32', '64'])
        .default('16'),
    )
    .option('--full', 'with everything behind the summary: tables by station, every finding, every file')
    .addOption(
      new Option(
        '--paper <size>',
        'paper it is made for (default: letter for jobs in feet, else A4)',
      ).choices(['A4', 'letter']),
    )
    .option('--pdf', 'a PDF beside it too, printed by an installed Chromium, Chrome or Edge')
    .option('--photo-exif', 'with --final: print the time and place the camera noted under each photograph')
    .option('--plain', 'leave out the interactive plots (4.8 MB); drawings and tables stay')
    .option('--json', 'print what was written as JSON')
    .addHelpText(
      'after',
      '\nExample:\n  sweepbook report juniper-lane-girder-4 --final --out girder-4.html\n',
    )
    .action(async (folder: string, options: Options) => {
      const step = (text: string): void => {
        if (io.errIsTerminal) io.err(`\r\u001b[K${text}`);
      };
      try {
        const [{ keptPaper }, { hashBytes }, { makeReport, reportParts, writeReport }] = await Promise.all([
          import('../kept-papers.ts'),
          import('../store/hash-file.ts'),
          import('../write-report.ts'),
        ]);
        const at = resolve(io.cwd, folder);
        const settings = {
          final: options.final === true,
          out: options.out,
          fraction: Number.parseInt(options.fraction, 10) as Fraction,
          plain: options.plain === true,
          full: options.full === true,
          photoExif: options.photoExif === true,
          paper: options.paper,
          tool: `Sweepbook ${program.version()}`,
        };
        step('Reading the job …');
        const parts = reportParts(settings, io);
        const { made, past, plotly } = parts;
        const { out: _elsewhere, ...asked } = settings;
        const wish = ['report', asked, made, past, plotly === null ? null : hashBytes(plotly)];
        const { report, verdict } = await keptPaper(at, wish, async (files) => {
          const [{ openJob }, { analyseFolder }] = await Promise.all([
            import('../store/open-job.ts'),
            import('../analyse-kept.ts'),
          ]);
          const opened = await openJob(at, files);
          step(`Fitting ${opened.job.lines.length} lines to ${opened.readings.length} readings …`);
          const analysis = await analyseFolder(opened);
          step('Writing the report …');
          return {
            report: await makeReport(opened, analysis, settings, parts),
            verdict: analysis.member.verdict,
          };
        });
        const written = await writeReport(at, report, settings, io);
        const pdf = options.pdf === true ? (await import('../print-pdf.ts')).printPdf(written.path) : null;
        step('');
        if (options.json === true) {
          io.out(
            `${JSON.stringify({ report: written.sheet, path: written.path, bytes: written.bytes, ...(pdf === null ? {} : { pdf }), verdict }, null, 2)}\n`,
          );
          return;
        }
        for (const path of pdf === null ? [written.path] : [written.path, pdf])
          io.out(`${relative(io.cwd, path) || path}\n`);
      } catch (error) {
        step('');
        throw error;
      }
    });
};
