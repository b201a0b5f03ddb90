/** The look of the page: light and dark, phone and paper; what is said never depends on colour. */
export const PAGE_STYLE = `
:root{color-scheme:light dark;--ink:#1b1b1f;--soft:#5a5a66;--paper:#fff;--card:#f3f3f6;--line:#c9c9d2;--mark:#0b57d0;--onmark:#fff;--alert:#a32000}
@media (prefers-color-scheme:dark){:root{--ink:#ececf1;--soft:#b0b0bc;--paper:#16161a;--card:#222228;--line:#44444f;--mark:#8ab4f8;--onmark:#10131a;--alert:#ff9b80}}
*{box-sizing:border-box}
html:has(.player){scroll-padding-top:8rem}
body{margin:0 auto;max-width:64rem;padding:1rem;font:1rem/1.5 system-ui,sans-serif;color:var(--ink);background:var(--paper)}
h1{font-size:1.5rem;margin:.2rem 0}h2{font-size:1.05rem;margin:0}
p{margin:.3rem 0}.soft{color:var(--soft);font-size:.9rem}
.player{position:sticky;top:0;z-index:1;display:flex;flex-wrap:wrap;gap:.5rem 1rem;align-items:center;padding:.6rem 0;background:var(--paper);border-bottom:1px solid var(--line)}
.player audio{flex:1 1 16rem;min-width:0;height:2.75rem}
.player label{display:flex;gap:.5rem;align-items:center}
button,input,select{font:inherit;color:inherit}
button,.note{min-height:2.75rem;min-width:2.75rem;border:1px solid var(--line);border-radius:.4rem;background:var(--card)}
button,.player~main .bar{cursor:pointer}
button:focus-visible,input:focus-visible,select:focus-visible,.scroll:focus-visible,.staff:focus-visible{outline:3px solid var(--mark);outline-offset:2px}
select{min-height:2.75rem;background:var(--card);border:1px solid var(--line);border-radius:.4rem}
section{margin:1.4rem 0;break-inside:avoid}
.head{display:flex;flex-wrap:wrap;gap:.3rem .8rem;align-items:center}
.head button{padding:0 .8rem}
[aria-pressed=true]{background:var(--mark);color:var(--onmark);border-color:var(--mark)}
ol.tab{list-style:none;display:flex;flex-wrap:wrap;gap:.3rem;margin:.4rem 0;padding:0}
ol.tab li{display:flex;align-items:stretch}
ol.tab li.barline{border-left:2px solid var(--soft);padding-left:.3rem}
.note{display:flex;flex-direction:column;align-items:center;padding:.25rem .5rem;white-space:nowrap}
.note b{font:600 1.15rem/1.3 ui-monospace,monospace}
.note .word{font-size:.9rem}.note .fault{font-size:.75rem;color:var(--alert)}
.missed{align-self:center;border:2px dashed var(--alert);border-radius:.4rem;padding:.1rem .4rem}
.missed .fault{font-size:.75rem;color:var(--alert)}
h3{font-size:1rem;margin:.7rem 0 .2rem}main ol:not(.tab),main ul{margin:.2rem 0;padding-left:2rem}
.findings li{margin:.3rem 0}.findings li>div{display:flex;gap:.6rem;align-items:center}.finding{flex:none;font-variant-numeric:tabular-nums;padding:0 .6rem}.time{font-variant-numeric:tabular-nums;color:var(--soft)}
.note.now{background:var(--mark);color:var(--onmark);border-color:var(--mark);text-decoration:underline}
.note.now .fault{color:inherit}
.scroll{overflow-x:auto}
svg.contour{display:block}
.contour text{font:11px ui-monospace,monospace;fill:var(--soft)}
.contour .row{stroke:var(--line);stroke-width:1}
.contour .bar{fill:var(--mark);fill-opacity:.25}
.contour .bar.now{fill-opacity:.6}
.contour .pitch{fill:none;stroke:var(--ink);stroke-width:1.6}
.contour .cursor{stroke:var(--alert);stroke-width:2}
.staff{background:#fff;color:#000;border-radius:.4rem;overflow-x:auto}
.staff img{display:block;width:100%;min-width:36rem;height:auto}
@page{margin:15mm}
@media print{:root{--ink:#000;--soft:#333;--paper:#fff;--card:#fff;--line:#999;--mark:#000;--onmark:#fff;--alert:#000}body{max-width:none;padding:0}.player,.head button,.cursor,.screen{display:none}.scroll{overflow:visible}svg.contour{max-width:100%;height:auto;max-height:4.8cm}section{margin:.8rem 0}.note{border:0;min-height:0;min-width:0;padding:.1rem .35rem}.staff img{min-width:0}section.long{break-inside:auto}.findings li{margin:0;break-inside:avoid}.findings li>div{align-items:baseline}.finding{border:0;min-height:0;min-width:0;padding:0}.staff{break-inside:avoid}h2,h3{break-after:avoid}}
`;
