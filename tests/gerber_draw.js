// Draws copper.gbr of the folder as SVG on the board's rectangle (size.json), with a Gerber reader from the npm registry that is
// installed in the folder. Node.js; for test_gerber.sh.
const fs = require('fs')
const path = require('path')
const folder = path.resolve(process.argv[2])
const draw = require(path.join(process.argv[3], 'node_modules', 'gerber-to-svg'))
const size = JSON.parse(fs.readFileSync(path.join(folder, 'size.json')))
const warnings = []
const reader = draw(fs.createReadStream(path.join(folder, 'copper.gbr')), { attributes: { color: 'black' } }, (error, svg) => {
  if (error) throw error
  if (warnings.length > 0) throw new Error(warnings.join('; '))
  if (reader.units !== 'mm') throw new Error('units are ' + reader.units)
  const [, low, , height] = reader.viewBox
  const top = height + 2 * low - size.height * 1000
  const box = `viewBox="0 ${top} ${size.width * 1000} ${size.height * 1000}"`
  fs.writeFileSync(path.join(folder, 'copper.svg'), svg.replace(/viewBox="[^"]*"/, box).replace(/ (width|height)="[^"]*mm"/g, ''))
})
// this reader knows no attributes (X2): they change nothing that is drawn
reader.on('warning', warning => /block "%T[FADO]/.test(warning.message) || warnings.push(warning.message))
