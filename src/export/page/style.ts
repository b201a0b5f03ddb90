/** The style of the page: phone first, light and dark, and paper; the meaning never depends on colour. */
export const PAGE_STYLE = `
:root{color-scheme:light dark;--ink:#1b1b1f;--soft:#55555f;--paper:#fff;--card:#f5f5f8;--line:#c9c9d2;--mark:#0b57d0;--onmark:#fff;--alert:#9a2600;--tough:#fbe9c0;--ontough:#2b2000}
@media (prefers-color-scheme:dark){:root{--ink:#ececf1;--soft:#b4b4c0;--paper:#131317;--card:#1e1e24;--line:#44444f;--mark:#8ab4f8;--onmark:#10131a;--alert:#ff9b80;--tough:#4a3c12;--ontough:#fff1c9}}
*{box-sizing:border-box}
html{scroll-padding:1rem 0 14rem}
body{margin:0 auto;max-width:60rem;padding:.8rem .8rem 15rem;font:1rem/1.5 system-ui,sans-serif;color:var(--ink);background:var(--paper)}
h1{font-size:1.6rem;line-height:1.2;margin:.2rem 0}h2{font-size:1.25rem;margin:1.6rem 0 .2rem}h3{font-size:1.05rem;margin:1.4rem 0 .3rem}
p{margin:.3rem 0}.soft{color:var(--soft);font-size:.9rem}
button,select{font:inherit;color:inherit;min-height:2.75rem;min-width:2.75rem;border:1px solid var(--line);border-radius:.6rem;background:var(--card);padding:0 .8rem;cursor:pointer}
button:focus-visible,select:focus-visible,a:focus-visible,.scroll:focus-visible,summary:focus-visible{outline:3px solid var(--mark);outline-offset:2px}
[aria-pressed=true]{background:var(--mark);color:var(--onmark);border-color:var(--mark);text-decoration:underline}
nav ol,.lines,.tab,.drills ul{list-style:none;margin:0;padding:0}
nav ol{display:flex;flex-wrap:wrap;gap:.4rem}
nav a{display:inline-flex;align-items:center;min-height:2.75rem;padding:0 .8rem;border:1px solid var(--line);border-radius:.6rem;color:var(--mark)}
summary{min-height:2.75rem;display:flex;align-items:center;cursor:pointer;color:var(--mark);text-decoration:underline}
.hard{display:flex;flex-wrap:wrap;gap:.4rem;align-items:center;margin:.6rem 0}
.hard b{padding-left:.3rem}
.line{border:1px solid transparent;border-radius:.9rem;padding:.5rem .6rem;margin:.3rem 0;break-inside:avoid;scroll-margin-bottom:2rem}
.line.current{background:var(--card);border-color:var(--line)}
.line.sounding:not(.current){border-color:var(--mark)}
.head{display:flex;flex-wrap:wrap;gap:.2rem .7rem;align-items:center}
.pick{font-weight:600}
.advice{border-left:4px solid var(--mark);padding:.1rem .6rem;margin:.4rem 0}
.tab{display:flex;flex-wrap:wrap;gap:.15rem .1rem;margin:.3rem 0}
.tab li{display:flex;align-items:stretch}
.tab li.barline{border-left:2px solid var(--soft);padding-left:.15rem}
.note{display:flex;flex-direction:column;align-items:center;justify-content:flex-start;padding:.15rem .35rem;white-space:nowrap;border-color:transparent;background:none;border-radius:.5rem}
.note b{font:700 1.25rem/1.35 system-ui,sans-serif}
.note .word{font-size:.95rem;line-height:1.3}.note .done{font-size:.8rem;font-style:italic;line-height:1.2}.note .fault{font-size:.75rem;color:var(--alert)}
.current .note b{font-size:1.65rem}.current .note .word{font-size:1.1rem}
.note.tough b{background:var(--tough);color:var(--ontough);border-radius:.35rem;padding:0 .25rem}
.missed{align-self:center;border:2px dashed var(--alert);border-radius:.4rem;padding:.1rem .4rem}
.missed .fault{font-size:.75rem;color:var(--alert)}
.note.now,.note.now b{background:var(--mark);color:var(--onmark);text-decoration:underline}
.note.now .fault{color:inherit}
.views{display:none}.current .views{display:block}
.staff svg{display:block;width:100%;height:auto;margin:.3rem 0;fill:currentColor}
.paper{display:none}.glyphs{position:absolute}.unseen{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}.note{position:relative}
.no-staff .staff,.no-pitch .scroll,.no-harp .harp{display:none}
.scroll{overflow-x:auto}
svg.contour{display:block}
.contour text{font:11px ui-monospace,monospace;fill:var(--soft)}
.contour .row{stroke:var(--line);stroke-width:1}
.contour .bar{fill:var(--mark);fill-opacity:.25;cursor:pointer}
.contour .bar.now{fill-opacity:.6}
.contour .pitch{fill:none;stroke:var(--ink);stroke-width:1.6}
.contour .cursor{stroke:var(--alert);stroke-width:2}
.harp{border-collapse:separate;border-spacing:2px;table-layout:fixed;width:100%;max-width:34rem;margin:.5rem 0;font-size:.8rem;text-align:center}
.harp caption{text-align:left;color:var(--soft);font-size:.85rem}
.harp th,.harp td{padding:0;height:1.35rem;font-weight:400}
.harp th[scope=row]{width:3.6em;text-align:left;color:var(--soft)}
.harp .hole th[scope=col]{background:var(--ink);color:var(--paper);font-weight:700}
.cell{border:1px solid var(--line);border-radius:.25rem;color:var(--soft)}
.cell.used{border-color:var(--ink);color:var(--ink);font-weight:700}
.cell.now{background:var(--mark);color:var(--onmark);text-decoration:underline}
.drills li{display:flex;flex-wrap:wrap;gap:.3rem .8rem;align-items:center;margin:.3rem 0}.drills li b{min-width:3.2rem;font-size:1.3rem}.drills li span{display:flex;flex-wrap:wrap;gap:.3rem}
.verses div{display:flex;flex-wrap:wrap;gap:.5rem 2.5rem}
main section ol:not(.tab):not(.lines),main section section ul:not(.drills ul){padding-left:1.6rem}
.findings li{margin:.3rem 0}.findings li>div{display:flex;gap:.6rem;align-items:center}.finding{flex:none;font-variant-numeric:tabular-nums;padding:0 .6rem}.time{font-variant-numeric:tabular-nums;color:var(--soft)}
.player{position:fixed;left:0;right:0;bottom:0;z-index:2;background:var(--paper);border-top:1px solid var(--line);padding:.5rem max(.6rem,calc(50vw - 30rem)) calc(.4rem + env(safe-area-inset-bottom));max-height:70vh;overflow-y:auto}
.row,.toggles{display:flex;flex-wrap:wrap;gap:.35rem}.row+.row{margin-top:.35rem}[hidden]{display:none!important}
.row>*{flex:1 1 auto;padding:0 .4rem}
.main{background:var(--mark);color:var(--onmark);border-color:var(--mark);font-weight:700;flex-grow:2!important}
.choices{display:grid;gap:.4rem;margin-top:.5rem}.choices[hidden]{display:none}
.choices label{display:flex;flex-wrap:wrap;gap:.2rem .6rem;align-items:center;justify-content:space-between}
.status{min-height:1.4em;font-size:.9rem;color:var(--soft);margin:.15rem 0 0}
@media (min-width:48rem){.current .note b{font-size:2rem}.current .note .word{font-size:1.25rem}.choices{grid-template-columns:1fr 1fr}.line{padding:.6rem 1rem}}
@page{margin:15mm}
@media print{:root{color-scheme:light;--ink:#000;--soft:#333;--paper:#fff;--card:#fff;--line:#999;--mark:#000;--onmark:#000;--alert:#000;--tough:#eee;--ontough:#000}
body{max-width:none;padding:0}.player,.screen,.cursor{display:none}.paper{display:block}.verses,.verses p{break-inside:avoid}.note.tough b,.harp .hole th[scope=col]{print-color-adjust:exact;-webkit-print-color-adjust:exact}.line,.line.current{border:0;padding:.2rem 0;background:none}.pick{border:0;padding:0;min-height:0;min-width:0;background:none}.views{display:block}.scroll{overflow:visible;display:none}
.note{border:0;min-height:0;min-width:0;padding:.1rem .3rem}.note b,.current .note b{font-size:1.3rem}.note .word,.current .note .word{font-size:1rem}.note.now,.note.now b,.cell.now{background:none;color:#000;text-decoration:none}.staff{display:none}.harp{break-inside:avoid;font-size:.75rem}
.findings li{margin:0;break-inside:avoid}.findings li>div{align-items:baseline}.finding{border:0;min-height:0;min-width:0;padding:0;background:none}h2,h3{break-after:avoid}.title{break-before:page}#piece0 .title{break-before:auto}}
`;
