import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';

/** A number at the top of a compiled module, where it stands, and the number itself. */
export interface Constant {
  /** Relative to `dist/`, as `holes/holes.js`. */
  readonly file: string;
  /** `LEAST_DB`, or `COSTS.bend` for a number in an object. */
  readonly name: string;
  readonly value: number;
  readonly start: number;
  readonly end: number;
}

/** What is fitted as a whole by a script of its own, number by number worth nothing. */
const NETWORKS = /-network\.js$/;

/** All numbers that shape the result of the modules below `folder` of `dist`. */
export function constantsOf(dist: string, folder: string): Constant[] {
  return readdirSync(join(dist, folder), { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('.js') && !NETWORKS.test(file))
    .sort()
    .flatMap((file) => constantsIn(join(folder, file), readFileSync(join(dist, folder, file), 'utf8')));
}

/** Numbers of top-level `const`s, alone or in objects; not those of arrays, which are tables. */
export function constantsIn(file: string, text: string): Constant[] {
  const source = ts.createSourceFile(file, text, ts.ScriptTarget.Latest, true);
  const found: Constant[] = [];
  const visit = (name: string, node: ts.Expression): void => {
    const value = numberOf(node);
    if (value !== null) found.push({ file, name, value, start: node.getStart(), end: node.getEnd() });
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

/** A number times a factor; a whole number stays whole, so that it still counts. Null where that is the same number. */
export function scaled(value: number, factor: number): number | null {
  if (factor === 0) return value === 0 ? null : 0;
  const exact = value * factor;
  const kept = Number.isInteger(value) ? Math.round(exact) : exact;
  return kept === value || (kept === 0 && value !== 0) ? null : kept;
}
