//! Writes the inputs that fuzzing starts from: `corpus FOLDER`, one folder a target in it.

mod book;

use std::error::Error;
use std::fs;
use std::path::Path;

const TEXTS: [&[u8]; 9] = [
    include_bytes!("../../tests/cli/data/comma.csv"),
    include_bytes!("../../tests/cli/data/crlf-bom.csv"),
    include_bytes!("../../tests/cli/data/semicolon.csv"),
    include_bytes!("../../tests/cli/data/tab.tsv"),
    include_bytes!("../../tests/cli/data/timed.csv"),
    include_bytes!("../../tests/cli/data/titled.csv"),
    include_bytes!("../../tests/cli/data/usual-words.csv"),
    include_bytes!("../../tests/cli/data/utf16le.csv"),
    include_bytes!("../../tests/cli/data/windows-1252.csv"),
];
const REGISTER: &str = "winding,site,rated_volts,rated_kw,construction,insulation,year_made,interval_days,minimum_mohm,group\n\
    P-1,North,3x400,100 hp,random-wound,thermosetting,1998,91.0,,a\n\"P-2\",,6600,n/a,form-wound,F,1971,182,100,a\n";

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("corpus FOLDER")?;
    let folder = Path::new(&folder);
    let texts = TEXTS.map(<[u8]>::to_vec).to_vec();
    let demo = include_bytes!("../../data-demo/register.csv").to_vec();
    for (target, inputs) in [
        ("text", texts),
        ("xlsx", book::inputs(include_bytes!("../../tests/cli/data/openpyxl.xlsx"))),
        ("ods", book::inputs(include_bytes!("../../tests/cli/data/odfpy.ods"))),
        ("xls", vec![include_bytes!("../../tests/cli/data/xlwt.xls").to_vec()]),
        ("policy", vec![include_bytes!("../../data-demo/policy.toml").to_vec()]),
        ("register", vec![REGISTER.as_bytes().to_vec(), demo]),
    ] {
        let folder = folder.join(target);
        fs::create_dir_all(&folder)?;
        for (i, input) in inputs.iter().enumerate() {
            fs::write(folder.join(format!("seed-{i}")), input)?;
        }
    }
    Ok(())
}
