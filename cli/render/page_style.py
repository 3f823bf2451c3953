"""How an HTML page looks: black on white, large on screen, tight on paper."""

__all__ = ["STYLE"]

STYLE = """\
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1rem; max-width: 84rem; color: #000; background: #fff;
  font: 1.125rem/1.4 Helvetica, Arial, "Liberation Sans", sans-serif;
  overflow-wrap: anywhere; }
h1 { font-size: 1.7em; margin: 0 0 .2em; }
h2 { font-size: 1.45em; margin: 1.6em 0 .4em; padding-top: .3em;
  border-top: .25rem solid #000; }
h3 { font-size: 1.2em; margin: 1.3em 0 .4em; padding: .15em .4em;
  border: .1rem solid #000; }
h4 { font-size: 1.08em; margin: 1.1em 0 .2em; }
.ruled { font-size: 1.15em; border-top: .1rem solid #000; padding-top: .3em; }
.ruled + .ruled { border: 0; margin-top: 0; padding: 0; }
.aside { font-weight: normal; border: .08rem solid #000; border-radius: .3rem;
  padding: 0 .4em; margin-left: .5em; white-space: nowrap; }
p { margin: .3em 0; max-width: 52em; }
ul { margin: .4em 0; padding-left: 1.4em; }
nav ul { columns: 18rem; }
nav li { break-inside: avoid; }
nav a { display: inline-block; padding: .25rem 0; color: #000; }
a:focus-visible, input:focus-visible, figure:focus-visible { outline: .2rem solid #000;
  outline-offset: .1rem; }
.tick { list-style: none; padding-left: 0; }
.caution { list-style: none; padding: .5em .8em; border: .2rem solid #000; }
.caution li { display: flex; }
.caution li::before { content: "!"; font-weight: bold; flex: 0 0 1.1em; }
label { display: inline-block; padding: .15rem 0; padding-left: 1.9rem;
  text-indent: -1.9rem; }
input { font: inherit; color: inherit; text-indent: 0; }
input[type=checkbox] { width: 1.5rem; height: 1.5rem; margin: 0 .4rem 0 0;
  vertical-align: -.35rem; accent-color: #000; }
input.room { width: 100%; min-width: 0; height: 2.1rem; padding: 0 .3rem;
  background: #fff; border: .08rem solid #000; border-radius: 0; }
table { border-collapse: collapse; width: 100%; margin: .4em 0;
  table-layout: fixed; }
th, td { border: .06rem solid #666; padding: .2rem .4rem; text-align: left;
  vertical-align: top; }
th { border-bottom: .15rem solid #000; }
dl { margin: .3em 0 .6em; }
dl div { display: flex; gap: .6em; margin: .1em 0; }
dt { font-weight: bold; flex: 0 0 7.5em; }
dd { margin: 0; max-width: 52em; }
figure { margin: .8em 0; }
figure svg { display: block; width: 100%; height: auto; overflow: visible; }
@media screen and (max-width: 46rem) {
  figure { overflow-x: auto; }
  figure svg { width: 44rem; max-width: none; overflow: hidden; }
  table, tbody, tr, td { display: block; width: 100%; }
  thead { position: absolute; width: 1px; height: 1px; overflow: hidden;
    clip-path: inset(50%); }
  col { display: none; }
  tr { border: .1rem solid #000; margin: 0 0 .6rem; }
  td { border: 0; display: flex; gap: .5rem; }
  td.none { display: none; }
  td::before { content: attr(data-label); flex: 0 0 6.5rem; font-weight: bold; }
  td > * { flex: 1 1 auto; }
  dl div { display: block; }
}
@media print {
  @page { margin: 14mm 12mm; }
  body { font-size: 9.5pt; line-height: 1.3; padding: 0; max-width: none; }
  nav { display: none; }
  h1, h2, h3, h4 { break-after: avoid; }
  h4 + p { break-after: avoid; }
  thead { display: table-header-group; }
  tr, li, figure, dl div, p, .together { break-inside: avoid; }
  table { margin: .2em 0; }
  dl { break-before: avoid; }
  td, th { padding: .5mm 1mm; border-width: .2mm; }
  th { border-bottom-width: .4mm; }
  input[type=checkbox] { width: 3.2mm; height: 3.2mm; margin-right: 1.2mm;
    vertical-align: -.5mm; }
  label { padding: 0 0 0 4.4mm; text-indent: -4.4mm; }
  input.room { height: 5mm; border: 0; padding: 0; }
  figure { max-height: 240mm; }
  figure svg { max-height: 235mm; }
}
"""
