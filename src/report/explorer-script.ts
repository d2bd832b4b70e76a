/**
 * The script of the interactive layer, as it runs in the reader's browser. It is kept as text because the page's policy
 * allows it by the hash of exactly this text. No network, no storage; a failure leaves the page complete without it.
 */
export const EXPLORER_SCRIPT = String.raw`(() => {
  'use strict';
  const data = JSON.parse(document.getElementById('explorer-data').textContent);
  const css = getComputedStyle(document.documentElement);
  const colour = (name) => css.getPropertyValue('--' + name).trim();
  const INK = colour('ink'), NOW = colour('now'), FOUND = colour('found'), HISTORY = colour('history');
  const DASHES = ['solid', 'dash', 'dot', 'dashdot'];
  const MARKS = ['circle', 'square', 'triangle-up', 'diamond', 'triangle-down'];
  const ZONE_COLOURS = [NOW, FOUND, colour('near'), INK];
  const MINUS = '\u2212';

  const fraction = (inches, denominator) => {
    const parts = Math.round(Math.abs(inches) * denominator);
    const whole = Math.floor(parts / denominator);
    let top = parts % denominator, bottom = denominator;
    while (top > 0 && top % 2 === 0) { top /= 2; bottom /= 2; }
    return top === 0 ? String(whole) : (whole === 0 ? '' : whole + ' ') + top + '/' + bottom;
  };
  const sign = (value, text) => (/^0(\.0*)?$/.test(text) ? text : (value < 0 ? MINUS : '+') + text);
  // "+2 5/8 in (+2.613 in ± 0.05)", or "+66.4 mm ± 1.2"
  const offsetText = (value, u) => {
    const digits = data.units === 'us' ? 3 : 1;
    const decimal = sign(value, Math.abs(value).toFixed(digits)) + ' ' + data.offsetUnit + ' ± ' + u.toFixed(digits);
    return data.units === 'us' ? sign(value, fraction(value, data.fraction)) + ' in  (' + decimal + ')' : decimal;
  };
  const stationText = (value) => {
    if (data.units !== 'us') return value.toFixed(2) + ' m';
    const parts = Math.round(Math.abs(value) * 12 * data.fraction);
    const feet = Math.floor(parts / (12 * data.fraction));
    return (value < 0 && parts > 0 ? MINUS : '') + feet + "'-" + fraction((parts % (12 * data.fraction)) / data.fraction, data.fraction) + '"';
  };
  // Plot text is parsed for a few tags by the library: names must arrive as text.
  const plain = (text) => String(text).replace(/&/g, '&amp;').replace(/</g, '&lt;').replace(/>/g, '&gt;');

  const CONFIG = {
    responsive: true, displaylogo: false, showSendToCloud: false, plotlyServerURL: '', displayModeBar: true,
    modeBarButtons: [['zoom2d', 'pan2d', 'zoomIn2d', 'zoomOut2d', 'resetScale2d']],
  };
  const layout = (title, x, y) => ({
    title: { text: title, x: 0, xanchor: 'left', font: { size: 14 } },
    font: { family: getComputedStyle(document.body).fontFamily, size: 12, color: INK },
    paper_bgcolor: 'rgba(0,0,0,0)', plot_bgcolor: 'rgba(0,0,0,0)',
    margin: { l: 58, r: 14, t: 44, b: 46 }, height: 380, hovermode: 'closest', showlegend: false,
    modebar: { bgcolor: 'rgba(0,0,0,0)', color: colour('ink-2'), activecolor: INK },
    hoverlabel: { font: { family: getComputedStyle(document.body).fontFamily, size: 13 } },
    xaxis: { title: { text: x }, gridcolor: colour('rule'), zeroline: false, ticks: 'outside' },
    yaxis: { title: { text: y }, gridcolor: colour('rule'), zeroline: true, zerolinecolor: INK },
  });
  const xStation = 'station, ' + data.stationUnit;
  const yOffset = 'deviation, ' + data.offsetUnit;
  const surveyName = (survey) => (survey.cycle === 0 ? 'as found' : 'cycle ' + survey.cycle) + (survey.date ? ', ' + plain(survey.date) : '');

  function loadLibrary() {
    if (window.Plotly) return;
    if (data.mapStyleId) {
      const stand = document.createElement('span');
      stand.id = data.mapStyleId;
      stand.hidden = true;
      document.body.append(stand);
    }
    const script = document.createElement('script');
    script.textContent = document.getElementById('plotting-library').textContent;
    document.head.append(script);
    if (!window.Plotly) throw new Error('the plotting library did not start');
  }

  function trace(line, k) {
    const s = line.surveys[k];
    return {
      x: line.stations, y: s.deviation,
      text: s.deviation.map((d, i) => (d === null ? '' : stationText(line.stations[i]) + '  ' + surveyName(s) + '<br>' + offsetText(d, s.u[i]))),
      error: s.u,
    };
  }

  // Blue is the minus side, as on paper.
  const RAMP = [[0, '#0f3a68'], [0.17, '#275c93'], [0.33, '#7fa9d2'], [0.5, '#f3f1ea'], [0.67, '#dfa257'], [0.83, '#8a4f12'], [1, '#5c3006']];

  // The map of a panel at a survey: what is drawn over the colours comes as traces of their own.
  function panelMap(line, k, most) {
    const { panel } = line, survey = panel.surveys[k], name = surveyName(line.surveys[k]);
    const text = survey.z.map((row, r) => row.map((z, c) => (z === null ? '' : stationText(panel.x[c]) + ', height ' + panel.y[r].toFixed(1) + ' ' + data.offsetUnit + '  ' + name + '<br>' + offsetText(z, survey.u[r][c]))));
    const pen = (colour_, width, dash) => ({ color: colour_, width, dash });
    const over = (x, y, pen_, more) => ({ type: 'scatter', mode: 'lines', x, y, line: pen_, hoverinfo: 'skip', ...more });
    const joined = (paths) => [paths.flatMap((path) => [...path.map((p) => p.x), null]), paths.flatMap((path) => [...path.map((p) => p.y), null])];
    const [crestX, crestY] = [[survey.crest.x], [survey.crest.y]];
    const bars = survey.heats.filter((heat) => heat.path.length > 1), spots = survey.heats.filter((heat) => heat.path.length === 1);
    return [
      { type: 'heatmap', x: panel.x, y: panel.y, z: survey.z, zmin: -most, zmax: most, colorscale: RAMP, zsmooth: false,
        text, hovertemplate: '%{text}<extra></extra>', hoverongaps: false, colorbar: { title: { text: data.offsetUnit }, thickness: 14 } },
      ...(line.limit === null ? [] : [{ type: 'contour', x: panel.x, y: panel.y, z: survey.z, showscale: false, hoverinfo: 'skip', connectgaps: false,
        contours: { coloring: 'none', start: -line.limit, end: line.limit, size: 2 * line.limit, showlabels: false }, line: pen(INK, 2, 'dash') }]),
      over(...joined(panel.creases), pen('#8a1f11', 2.5, 'dashdot')),
      over(...joined(bars.map((heat) => heat.path)), pen(INK, 4, 'solid')),
      { type: 'scatter', mode: 'markers', x: spots.map((heat) => heat.path[0].x), y: spots.map((heat) => heat.path[0].y), text: spots.map((heat) => 'heat ' + plain(heat.name)),
        hovertemplate: '%{text}<extra></extra>', marker: { symbol: 'circle-open', size: 12, color: INK, line: { width: 2.2 } } },
      { type: 'scatter', mode: 'markers', x: crestX, y: crestY, text: ['crest, ' + name + '<br>' + (survey.crest.bound ? 'at least ' : '') + offsetText(survey.crest.value, survey.crest.u)],
        hovertemplate: '%{text}<extra></extra>', marker: { symbol: 'cross-thin-open', size: 16, color: INK, line: { width: 2.4 } } },
    ];
  }
  const panelLayout = (line, k) => {
    const base = layout('Out of flat, ' + surveyName(line.surveys[k]), xStation, 'height, ' + data.offsetUnit);
    return { ...base, height: 440, plot_bgcolor: '#c4c9ce', xaxis: { ...base.xaxis, showgrid: false, constrain: 'domain' },
      yaxis: { ...base.yaxis, showgrid: false, zeroline: false, scaleanchor: 'x', scaleratio: line.panel.ratio, constrain: 'domain' } };
  };

  function start(root, line) {
    const hosts = Object.fromEntries([...root.querySelectorAll('.plotly-host')].map((host) => [host.dataset.plot, host]));
    const slider = root.querySelector('.explore-cycle');
    const output = root.querySelector('.explore-output');
    const boxes = [...root.querySelectorAll('.explore-zone')];
    const hidden = () => new Set(boxes.filter((box) => !box.checked).map((box) => box.value));
    let chosen = Number(slider.value);

    const band = line.limit === null ? [] : [{
      type: 'rect', layer: 'below', xref: 'paper', x0: 0, x1: 1, y0: -line.limit, y1: line.limit,
      fillcolor: colour('band'), line: { width: 1, color: colour('band-edge'), dash: 'dash' },
    }];
    const zoneShapes = () => line.zones.filter((z) => !hidden().has(z.name)).map((z) => ({
      type: 'rect', layer: 'below', yref: 'paper', y0: 0, y1: 1, x0: z.from, x1: z.to,
      fillcolor: colour('zone'), opacity: 0.5, line: { width: 1, color: FOUND },
      label: { text: plain(z.name), textposition: 'top center', font: { color: FOUND, size: 13 } },
    }));
    const now = trace(line, chosen);
    const found = trace(line, 0);
    const gap = [null];
    const history = line.surveys.slice(1);
    const mostOut = line.panel === null ? 0 : Math.max(1e-6, ...line.panel.surveys.flatMap((s) => s.z.flatMap((row) => row.map((z) => Math.abs(z ?? 0)))));
    if (line.panel !== null) Plotly.newPlot(hosts.profile, panelMap(line, chosen, mostOut), panelLayout(line, chosen), CONFIG);
    else Plotly.newPlot(hosts.profile, [
      { type: 'scatter', mode: 'lines', x: history.flatMap(() => [...line.stations, ...gap]), y: history.flatMap((s) => [...s.deviation, ...gap]),
        line: { color: HISTORY, width: 0.8 }, hoverinfo: 'skip' },
      { type: 'scatter', mode: 'lines+markers', x: found.x, y: found.y, text: found.text, hovertemplate: '%{text}<extra></extra>',
        line: { color: FOUND, width: 1.8, dash: 'dash' }, marker: { symbol: 'circle-open', size: 6, color: FOUND } },
      { type: 'scatter', mode: 'lines+markers', x: now.x, y: now.y, text: now.text, hovertemplate: '%{text}<extra></extra>',
        error_y: { type: 'data', array: now.error, color: NOW, thickness: 1, width: 3 },
        line: { color: NOW, width: 2.6 }, marker: { size: 7, color: NOW } },
    ], { ...layout('Deviation along the line', xStation, yOffset), shapes: [...band, ...zoneShapes()] }, CONFIG);

    const cursor = () => ({
      type: 'line', yref: 'paper', y0: 0, y1: 1, x0: line.surveys[chosen].cycle, x1: line.surveys[chosen].cycle,
      line: { color: INK, width: 1, dash: 'dot' },
    });
    const limitBand = line.limit === null ? [] : [{ ...band[0], y0: 0 }];
    const lastPoint = line.series.slice(-1).map((p) => ({ cycle: p.cycle, low: p.value, expected: p.value, high: p.value }));
    const fan = line.forecast.length === 0 ? [] : [...lastPoint, ...line.forecast];
    const fanText = fan.map((p) => 'cycle ' + p.cycle + ', forecast<br>' + offsetText(p.expected, Math.max(0, (p.high - p.low) / 2)).replace(/ ±.*$/, data.units === 'us' ? ')' : '') + '<br>80\u00a0%: ' + p.low.toFixed(2) + ' to ' + p.high.toFixed(2) + ' ' + data.offsetUnit);
    // The plots below are drawn when they come into view: each costs a slow tablet a noticeable moment.
    const drawn = new Set();
    const draw = {};
    draw.progress = () => Plotly.newPlot(hosts.progress, [
      { type: 'scatter', mode: 'lines', x: [...fan.map((p) => p.cycle), ...fan.map((p) => p.cycle).reverse()], y: [...fan.map((p) => p.high), ...fan.map((p) => p.low).reverse()],
        fill: 'toself', fillcolor: 'rgba(11,74,143,.14)', line: { color: NOW, width: 0.6, dash: 'dot' }, hoverinfo: 'skip' },
      { type: 'scatter', mode: 'lines', x: fan.map((p) => p.cycle), y: fan.map((p) => p.expected), line: { color: NOW, width: 1.6, dash: 'dot' }, text: fanText, hovertemplate: '%{text}<extra></extra>' },
      { type: 'scatter', mode: 'lines+markers', x: line.series.map((p) => p.cycle), y: line.series.map((p) => p.value),
        text: line.series.map((p) => 'cycle ' + p.cycle + '<br>' + offsetText(p.value, p.u)), hovertemplate: '%{text}<extra></extra>',
        error_y: { type: 'data', array: line.series.map((p) => p.u), color: NOW, thickness: 1, width: 3 }, line: { color: NOW, width: 2.4 }, marker: { size: 7 } },
    ], { ...layout(line.panel === null ? 'Largest deviation by cycle' : 'Crest by cycle', 'cycle', (line.panel === null ? 'largest deviation, ' : 'crest, ') + data.offsetUnit), shapes: [...limitBand, cursor()] }, CONFIG);

    draw.rotations = () => Plotly.newPlot(hosts.rotations, line.zones.map((z, i) => ({
      type: 'scatter', mode: 'lines+markers', name: plain(z.name), x: z.rotations.map((r) => r.cycle), y: z.rotations.map((r) => r.value),
      text: z.rotations.map((r) => 'zone ' + plain(z.name) + ', cycle ' + r.cycle + '<br>' + r.value.toFixed(2).replace('-', MINUS) + '° ± ' + r.u.toFixed(2) + '°'), hovertemplate: '%{text}<extra></extra>',
      error_y: { type: 'data', array: z.rotations.map((r) => r.u), thickness: 1, width: 3 },
      line: { color: ZONE_COLOURS[i % 4], dash: DASHES[i % 4], width: 2 }, marker: { symbol: MARKS[i % 5], size: 8, color: ZONE_COLOURS[i % 4] },
    })), { ...layout('Rotation of the zones', 'cycle', 'rotation, degrees'), showlegend: true, legend: { orientation: 'h', y: -0.22, x: 1, xanchor: 'right' }, shapes: [cursor()] }, CONFIG);

    const most = Math.max(1e-6, ...line.surveys.flatMap((s) => s.deviation.map((d) => Math.abs(d ?? 0))));
    draw.map = () => Plotly.newPlot(hosts.map, [{
      type: 'heatmap', x: line.stations, y: line.surveys.map((s) => s.cycle), z: line.surveys.map((s) => s.deviation), zmin: -most, zmax: most,
      colorscale: RAMP,
      text: line.surveys.map((s, k) => trace(line, k).text), hovertemplate: '%{text}<extra></extra>',
      colorbar: { title: { text: data.offsetUnit }, thickness: 14 },
    }], { ...layout('Map of deviation', xStation, 'cycle'), yaxis: { ...layout('', '', '').yaxis, title: { text: 'cycle' }, autorange: 'reversed', zeroline: false },
      shapes: [] }, CONFIG);

    const seen = new IntersectionObserver((entries) => {
      for (const entry of entries) {
        const name = entry.target.dataset.plot;
        if (!entry.isIntersecting || drawn.has(name)) continue;
        drawn.add(name);
        seen.unobserve(entry.target);
        draw[name]();
        if (name === 'rotations') toggle();
      }
    });
    for (const name of ['progress', 'rotations', 'map']) if (hosts[name]) seen.observe(hosts[name]);

    const show = () => {
      chosen = Number(slider.value);
      const t = trace(line, chosen);
      output.textContent = surveyName(line.surveys[chosen]);
      slider.setAttribute('aria-valuetext', output.textContent);
      if (line.panel !== null) Plotly.react(hosts.profile, panelMap(line, chosen, mostOut), panelLayout(line, chosen), CONFIG);
      else Plotly.restyle(hosts.profile, { y: [t.y], text: [t.text], 'error_y.array': [t.error] }, [2]);
      if (drawn.has('progress')) Plotly.relayout(hosts.progress, { shapes: [...limitBand, cursor()] });
      if (drawn.has('rotations')) Plotly.relayout(hosts.rotations, { shapes: [cursor()] });
    };
    const toggle = () => {
      const off = hidden();
      Plotly.relayout(hosts.profile, { shapes: [...band, ...zoneShapes()] });
      if (drawn.has('rotations')) Plotly.restyle(hosts.rotations, { visible: line.zones.map((z) => !off.has(z.name)) });
    };
    slider.addEventListener('input', show);
    for (const box of boxes) box.addEventListener('change', toggle);
    output.textContent = surveyName(line.surveys[chosen]);
    slider.setAttribute('aria-valuetext', output.textContent);
  }

  // Sections are drawn already: the slider only says which is shown, and needs no plotting library.
  const member = document.querySelector('.section-explore');
  if (member && data.sections.length > 1) {
    const slider = member.querySelector('input');
    const output = member.querySelector('output');
    const host = member.querySelector('.section-host');
    const show = () => {
      const chosen = data.sections[Number(slider.value)];
      output.textContent = chosen.station;
      slider.setAttribute('aria-valuetext', chosen.station);
      host.innerHTML = chosen.drawing;
    };
    slider.value = String(Math.max(0, data.sections.findIndex((s) => s.station.includes('furthest out'))));
    slider.addEventListener('input', show);
    member.hidden = false;
    show();
  }

  for (const root of document.querySelectorAll('.explore[data-line]')) {
    root.hidden = false;
    const button = root.querySelector('.explore-open');
    const body = root.querySelector('.explore-body');
    const status = root.querySelector('.explore-status');
    let started = false;
    button.addEventListener('click', () => {
      const open = body.hidden;
      body.hidden = !open;
      button.setAttribute('aria-expanded', String(open));
      if (!open || started) return;
      started = true;
      status.textContent = 'Drawing …';
      // Two frames, so that the words are painted before the library is parsed.
      requestAnimationFrame(() => requestAnimationFrame(() => {
        try {
          loadLibrary();
          start(root, data.lines[Number(root.dataset.line)]);
          status.textContent = '';
        } catch (error) {
          body.hidden = true;
          status.textContent = 'The interactive plots could not be drawn here (' + error.message + '). The drawings and tables hold the same numbers.';
        }
      }));
    });
  }
})();
`;
