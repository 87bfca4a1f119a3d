/** The script of the report's list, which the build makes a function of. */
declare module "report/plant.js" {
  export default function startList(): void;
}
