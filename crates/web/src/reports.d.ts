/** The script of the report's list, which the build makes a function of. */
declare module "report/works.js" {
  export default function startList(): void;
}
