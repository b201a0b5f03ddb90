import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';

/** A number at the top level of a compiled module, and where it is in the text. */
export interface Constant {
  /** Relative to `dist/`, as `holes/holes.js`. */
  readonly file: string;
  /** `LEAST_DB`, `COSTS.bend` for a number in an object, `ROOM_SEC[0]` for one end of a span. */
  readonly name: string;
  readonly value: number;
  readonly start: number;
  readonly end: number;
}

/** Networks are fitted as a whole, each by its own script, so their single numbers say nothing. */
const NETWORKS = /-network\.js$/;

/** All numbers that shape the result of one module (`analysis/notes/steps`), or of all below a folder of `dist`. */
export function constantsOf(dist: string, folder: string): Constant[] {
  const module = `${folder}.js`;
  if (existsSync(join(dist, module))) return constantsIn(module, readFileSync(join(dist, module), 'utf8'));
  return readdirSync(join(dist, folder), { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('.js') && !NETWORKS.test(file))
    .sort()
    .flatMap((file) => constantsIn(join(folder, file), readFileSync(join(dist, folder, file), 'utf8')));
}

/** Numbers of top-level `const`s: alone, in objects (also those given to a constructor), and both ends of a span; longer arrays are tables. */
export function constantsIn(file: string, text: string): Constant[] {
  const source = ts.createSourceFile(file, text, ts.ScriptTarget.Latest, true);
  const found: Constant[] = [];
  const visit = (name: string, node: ts.Expression): void => {
    const value = numberOf(node);
    if (value !== null) found.push({ file, name, value, start: node.getStart(), end: node.getEnd() });
    if (ts.isNewExpression(node)) for (const argument of node.arguments ?? []) visitObject(name, argument);
    if (ts.isArrayLiteralExpression(node) && node.elements.length === 2)
      for (const [i, end] of node.elements.entries()) if (numberOf(end) !== null) visit(`${name}[${i}]`, end);
    visitObject(name, node);
  };
  const visitObject = (name: string, node: ts.Expression): void => {
    if (!ts.isObjectLiteralExpression(node)) return;
    for (const property of node.properties)
      if (ts.isPropertyAssignment(property))
        visit(`${name}.${property.name.getText()}`, property.initializer);
  };
  for (const statement of source.statements) {
    if (!ts.isVariableStatement(statement) || (statement.declarationList.flags & ts.NodeFlags.Const) === 0)
      continue;
    for (const { name, initializer } of statement.declarationList.declarations)
      if (initializer !== undefined && ts.isIdentifier(name)) visit(name.text, initializer);
  }
  return found;
}

function numberOf(node: ts.Expression): number | null {
  if (ts.isNumericLiteral(node)) return Number(node.text);
  const negative = ts.isPrefixUnaryExpression(node) && node.operator === ts.SyntaxKind.MinusToken;
  return negative && ts.isNumericLiteral(node.operand) ? -Number(node.operand.text) : null;
}

/** A number times a factor; a whole number stays whole, as it may be a count. Null if that changes nothing. */
export function scaled(value: number, factor: number): number | null {
  if (factor === 0) return value === 0 ? null : 0;
  const exact = value * factor;
  const kept = Number.isInteger(value) ? Math.round(exact) : exact;
  return kept === value || (kept === 0 && value !== 0) ? null : kept;
}
