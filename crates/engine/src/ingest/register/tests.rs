use super::*;
use groundwall::nameplate::{Construction, Insulation};
use groundwall::units::{Power, Resistance, Voltage};

fn parse(text: &str) -> Result<Register, String> {
    Register::parse("r.csv", text.as_bytes(), None, false, &Mapping::default()).map_err(|failure| failure.to_string())
}

/// The cells of a register that cannot be read: those that decide something, and the others.
fn unread(text: &str) -> Result<[String; 2], String> {
    let lines = |problems: &[Problem]| problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
    parse(text).map(|register| [lines(&register.unread), lines(&register.ignored)])
}

fn nameplate(text: &str) -> Nameplate {
    parse(text).ok().and_then(|register| register.nameplate("P-1").cloned()).unwrap_or_default()
}

#[test]
fn a_full_row_is_read() {
    let text = "\u{feff}construction;winding;rated_volts;rated_kw;insulation;thermal_class;year_made;interval_days;\
                minimum_mohm;colour\nForm-wound; G-1 stator ;6600 V;1250,5;thermosetting;F;1988;91;8,5;red\n";
    let register = parse(text);
    assert_eq!(register.as_ref().map(|r| (r.len(), r.left_alone.clone())), Ok((1, vec!["colour".to_owned()])));
    let nameplate = register.ok().and_then(|r| r.nameplate("G-1 stator").cloned()).unwrap_or_default();
    assert_eq!(nameplate.construction, Some(Construction::FormWound));
    assert_eq!(nameplate.rated_voltage.map(Voltage::as_volts), Some(6600.0));
    assert_eq!(nameplate.rated_power.map(Power::as_kilowatts), Some(1250.5));
    assert_eq!(nameplate.insulation, Insulation::Thermosetting);
    assert_eq!((nameplate.year_made, nameplate.interval_days), (Some(1988), Some(91)));
    assert_eq!(nameplate.minimum.map(Resistance::as_megohms), Some(8.5));
}

#[test]
fn empty_cells_are_not_known() {
    let nameplate = parse("winding,rated_volts,insulation\nP-1,,\n").ok().and_then(|r| r.nameplate("P-1").cloned());
    assert_eq!(nameplate, Some(Nameplate::default()));
}

#[test]
fn a_word_that_is_begun_leads_to_the_whole_one() {
    let said = unread("winding,construction\nP-1,formwound\n");
    assert!(said.is_ok_and(|[said, _]| said.ends_with("\nhint: write form-wound if that is what is meant")));
    assert_eq!(
        unread("winding,construction\nP-1,Random\n").map(|[said, _]| said),
        Ok("r.csv:2: construction is Random; a construction is one of form-wound, random-wound, dc-armature, field, bare-field, wound-rotor, water-cooled, water-cooled-drained, cable, circuit\n\
             hint: write random-wound if that is what is meant"
            .to_owned())
    );
}

#[test]
fn a_cell_that_cannot_be_read_counts_as_not_known_and_stops_nobody() {
    let text = "winding,rated_volts,construction,insulation,thermal_class,year_made,minimum_mohm,rated_kw,drive_fed\n\
                P-1,0,wire,epoxy,Q,88,>5,big,perhaps\nP-2,400,,,,,,0.0,\n";
    assert_eq!(
        unread(text),
        Ok([
            "r.csv:2: rated_volts is 0; a voltage lies between 1 and 100000 V\n\
             hint: check the digits against the nameplate\n\
             r.csv:2: construction is wire; a construction is one of form-wound, random-wound, dc-armature, field, bare-field, wound-rotor, water-cooled, water-cooled-drained, cable, circuit\n\
             hint: leave the cell empty if it is not known\n\
             r.csv:2: insulation is epoxy; an insulation is one of thermosetting, thermoplastic, unknown\n\
             hint: epoxy and polyester are thermosetting, asphaltic mica is thermoplastic; a letter such as F goes into thermal_class\n\
             r.csv:2: thermal_class is Q; a thermal class is one of Y, A, E, B, F, H, N, R or degrees from 90 to 260\n\
             hint: leave the cell empty if it is not known\n\
             r.csv:2: year_made is 88; a year of make is a whole number from 1910 to 2199\n\
             hint: write the year alone, such as 2019, or leave the cell empty if it is not known\n\
             r.csv:2: minimum_mohm is >5; a minimum is a plain resistance\n\
             hint: write it in MΩ, such as 5\n\
             r.csv:2: rated_kw is big; this column holds numbers, optionally followed by hp or kW or kVA or MW or MVA\n\
             hint: write digits only, such as 6600, with no mark between thousands\n\
             r.csv:3: rated_kw is 0.0; a rated power lies between 0.001 and 2000000 kW\n\
             hint: check the digits against the nameplate"
                .to_owned(),
            "r.csv:2: drive_fed is perhaps; drive_fed is yes or no, and is read as yes\n\
             hint: yes for a machine that a frequency converter feeds"
                .to_owned()
        ])
    );
    let read = nameplate(text);
    assert_eq!(
        read.unread,
        [
            "rated_volts 0",
            "construction wire",
            "insulation epoxy",
            "thermal_class Q",
            "year_made 88",
            "minimum_mohm >5",
            "rated_kw big"
        ]
    );
    // Only a no that can be read leaves out the warning of a drive.
    assert_eq!(Nameplate { unread: Vec::new(), ..read }, Nameplate { drive_fed: Some(true), ..Nameplate::default() });
}

#[test]
fn a_thermal_class_is_read_as_people_and_spreadsheets_write_it() {
    let class = |cell: &str| {
        let read = nameplate(&format!("winding,thermal_class\nP-1,{cell}\n"));
        (read.thermal_class.map(|class| class.degrees_celsius()), read.unread.len())
    };
    for cell in ["F", "f", "Class F", "class f", "CLASS  F", "155", "155.0", "Class 155"] {
        assert_eq!(class(cell), (Some(155), 0), "{cell}");
    }
    for cell in ["Class", "classic F", "F/B", "155.5", "15", "1550"] {
        assert_eq!(class(cell), (None, 1), "{cell}");
    }
}

/// A year with a doubt is read where a winding of it owes the most anyway, from 1970 on (IEEE Std 43 cl. 12.3).
#[test]
fn years_and_powers_are_read_as_people_write_them() {
    let year = |cell: &str| {
        let read = nameplate(&format!("winding,year_made,year_rewound\nP-1,1966,{cell}\n"));
        (read.year_made, read.year_rewound, read.unread.len())
    };
    for cell in ["2019", "2019-05", "05/2019", "17.5.2019", "2019?", "~2019", "ca. 2019", "2019.0"] {
        assert_eq!(year(cell), (Some(1966), Some(2019), 0), "{cell}");
    }
    // A rewind of an unknown year: the year of the machine says nothing of its winding.
    for cell in [
        "2O19",
        "yes",
        "1965?",
        "2018/2019",
        "12019",
        "19",
        "1969/70",
        "1969-71",
        "1969–1970",
        "69/70",
        "1969.70",
        "1970/69",
        "1969-0",
        "13/1969",
        "32.1.1969",
        "31.13.1969",
        "1969-10-12-1",
        "1969 70",
    ] {
        assert_eq!(year(cell), (None, None, 1), "{cell}");
    }
    let power = |cell: &str| {
        let read = nameplate(&format!("winding,rated_kw\nP-1,{cell}\n"));
        (read.rated_power.map(Power::as_kilowatts), read.unread.len())
    };
    for cell in ["25 MVA", "25000 kVA", "25 MW", "25000"] {
        assert_eq!(power(cell), (Some(25_000.0), 0), "{cell}");
    }
    for cell in ["25O00", "large"] {
        assert_eq!(power(cell), (None, 1), "{cell}");
    }
    assert_eq!(nameplate("winding,minimum_basis\nP-1,refrence\n").unread, ["minimum_basis refrence"]);
}

#[test]
fn rows_that_name_no_winding_are_set_aside_and_no_unknown_winding_gets_milder() {
    let text = "winding,rated_volts\n,400\nP-1,400\n?,400\nP-2\nP-3,400,x\n";
    let register = Register::parse("r.csv", text.as_bytes(), None, false, &Mapping::default()).expect("it is read");
    let lines: Vec<u64> = register.unnamed.iter().map(|(line, _)| *line).collect();
    assert_eq!((register.len(), lines), (1, vec![2, 4, 5, 6]));
    let said = crate::ingest::ledger::of_register(&register).join("\n");
    assert!(
        said.contains(
            "r.csv: 4 rows name no winding for certain; windings that are not in the register are judged on the strict side, \
             because they may be about one of them"
        ),
        "{said}"
    );
    let judged = register.for_windings(["P-1", "P-9"].into_iter());
    assert_eq!(judged["P-1"].unread, [""; 0]);
    assert_eq!(judged["P-9"].unread, ["on line 2, in a row that names no winding for certain, what may be"]);
}

#[test]
fn a_register_whose_rows_all_name_no_winding_stops_the_run() {
    assert_eq!(
        parse("winding,rated_volts\n,400\nP-2\nn/a,400\n"),
        Err("r.csv:2: winding is empty; every row names its winding\n\
             hint: write the winding's identifier\n\
             r.csv:3: the row has 1 cell; the header has 2\n\
             hint: put text that holds the separator between quotes, or add the cells that are missing\n\
             r.csv:4: winding is empty; every row names its winding\n\
             hint: write the winding's identifier"
            .to_owned())
    );
}

#[test]
fn what_people_write_for_nothing_is_nothing_in_every_column() {
    for nothing in ["n/a", "?", "TBC", "unknown", "none", "-", "N/A", "Unknown"] {
        let cells = [nothing; COLUMNS.len() - 1].join(",");
        let text = format!("{}\nP-1,{cells}\n", COLUMNS.join(","));
        assert_eq!(unread(&text), Ok([String::new(), String::new()]), "{nothing}");
        assert_eq!(nameplate(&text), Nameplate::default(), "{nothing}");
    }
}

#[test]
fn numbers_are_read_as_nameplates_and_spreadsheets_write_them() {
    let numbers = nameplate("winding,interval_days,year_made,rated_kw\nP-1,91.0,1988.0,100 hp\n");
    assert_eq!((numbers.interval_days, numbers.year_made), (Some(91), Some(1988)));
    assert!(numbers.rated_power.is_some_and(|power| (power.as_kilowatts() - 74.569_987_2).abs() < 1e-9));
    for (cell, volts) in [
        ("3x400", 400.0),
        ("3 x 400 V", 400.0),
        ("3~400", 400.0),
        ("400/690", 690.0),
        ("690 V / 400 V", 690.0),
        ("6.6/11 kV", 11_000.0),
        ("3300", 3300.0),
    ] {
        let read = nameplate(&format!("winding,rated_volts\nP-1,{cell}\n"));
        assert_eq!((read.rated_voltage.map(Voltage::as_volts), read.unread.len()), (Some(volts), 0), "{cell}");
    }
    for cell in ["12.000", "8.500"] {
        let read = nameplate(&format!("winding,rated_kw\nP-1,{cell}\n"));
        assert_eq!((read.rated_power, read.unread), (None, vec![format!("rated_kw {cell}")]));
    }
    for cell in ["400/", "400/x", "4OO", "3 400", "6.6/11", "100 hp", "1968/2011", "400/500", "11.000"] {
        let read = nameplate(&format!("winding,rated_volts\nP-1,{cell}\n"));
        assert_eq!((read.rated_voltage, read.unread), (None, vec![format!("rated_volts {cell}")]));
    }
}

#[test]
fn a_winding_and_a_column_stand_once() {
    assert_eq!(
        parse("winding,rated_volts\nP-1,400\nP-2,400\nP-1,690\n"),
        Err("r.csv:4: winding is P-1, as on line 2, with other data; a winding has one row in the register\n\
             hint: delete the row that is wrong"
            .to_owned())
    );
    assert_eq!(parse("winding\nP-1\nP-2\nP-1\n").map(|register| (register.len(), register.repeated)), Ok((2, 1)));
    assert_eq!(
        parse("winding,site,Site\nP-1,a,b\n"),
        Err("r.csv:1: the columns 2 and 3 are both site\nhint: rename or delete the one that is not to be read"
            .to_owned())
    );
    assert_eq!(
        parse("windings,site\nP-1,a\n"),
        Err("r.csv:1: the column winding is missing; the header has windings, site\n\
             hint: name the column that holds the windings; the columns of a register are winding, site, area, \
             description, rated_volts, rated_kw, construction, drive_fed, insulation, thermal_class, year_made, year_rewound, \
             interval_days, minimum_mohm, minimum_basis, group, criticality, work_order, \
             maker, aliases"
            .to_owned())
    );
}

/// Fields are rated for as little as 24 V. A value in kilovolts read as volts lowers the minimum from 100 to 5 MΩ.
#[test]
fn kilovolts_are_not_taken_for_volts() {
    for (cell, volts, kilovolts) in
        [("6.6", "6600", "6.6 kV"), ("0.4", "400", "0.4 kV"), ("11", "11000", "11 kV"), ("23.9", "23900", "23.9 kV")]
    {
        assert_eq!(
            unread(&format!("winding,rated_volts\nP-1,{cell}\n")).map(|[said, _]| said),
            Ok(format!(
                "r.csv:2: rated_volts is {cell}; a rated voltage of less than 24 V is written with its unit\n\
                 hint: if this is in kilovolts write {volts}, or {kilovolts}"
            ))
        );
    }
    let volts = |text: &str| {
        let nameplate = parse(text).map(|register| register.nameplate("P-1").cloned().unwrap_or_default());
        nameplate.map(|nameplate| nameplate.rated_voltage.map(Voltage::as_volts))
    };
    for (text, expected) in [
        ("winding,rated_volts\nP-1,24\n", 24.0),
        ("winding,rated_volts\nP-1,12 V\n", 12.0),
        ("winding,rated_volts\nP-1,6.6 kV\n", 6600.0),
        ("winding;Rated kV\nP-1;6,6\n", 6600.0),
        ("Motor no.,Rated voltage (kV)\nP-1,400 V\n", 400.0),
    ] {
        assert_eq!(volts(text), Ok(Some(expected)), "{text}");
    }
    assert_eq!(
        unread("winding,Rated kV\nP-1,6600\n").map(|[said, _]| said),
        Ok("r.csv:2: Rated kV is 6600; a voltage lies between 1 and 100000 V\n\
             hint: bare numbers of this column are in kV, as its header says; write the unit into the cell if this one is not"
            .to_owned())
    );
}

#[test]
fn a_history_is_no_register() {
    let rows = "P-1,2026-01-05,5\nP-1,2026-04-05,5\nP-2,2026-01-05,6\nP-2,2026-04-05,6\nP-3,2026-04-05,6\n";
    assert_eq!(
        parse(&format!("winding,Date,r_60s\n{rows}")),
        Err("r.csv:1: 2 of 3 windings are listed here several times and Date is a column of days; this looks like a history, not a \
             register\n\
             hint: give it as a history, without --register; a register has one row per winding, with what is on its \
             nameplate"
            .to_owned())
    );
}

#[test]
fn what_the_site_says_of_its_headers_holds_here_too() {
    let mut mapping = Mapping::default();
    for (header, name) in [("KKS", "winding"), ("U n", "rated_volts"), ("Year", "-"), ("Insulation", "r_60s")] {
        assert_eq!(mapping.add(header, name), Ok(()));
    }
    let text = "KKS,U n,Year,Insulation\nP-1,6600,long ago,thermosetting\n";
    let register = Register::parse("r.csv", text.as_bytes(), None, false, &mapping);
    let read = register.map(|register| {
        let nameplate = register.nameplate("P-1").cloned().unwrap_or_default();
        (nameplate.rated_voltage.map(Voltage::as_volts), nameplate.insulation, register.left_alone, register.near)
    });
    assert_eq!(read, Ok((Some(6600.0), Insulation::Thermosetting, vec!["Year".to_owned()], Vec::new())));
}

/// Three pieces and more; a cell over two lines and blank lines in the first, so that lines are counted on from there.
#[test]
fn a_long_register_is_judged_in_pieces_and_says_the_lines_of_the_file() {
    let mut text = "winding,rated_volts,area\nP-0,400,\"north\nwing\"\n\n\n".to_owned();
    for number in 1..30_000 {
        text.push_str(&format!("P-{number},400,pump house by the river\n"));
    }
    assert!(text.len() > 3 * PIECE);
    let register = parse(&text);
    assert_eq!(register.as_ref().map(Register::len), Ok(30_000));
    // Row P-k stands on line k + 5.
    text = text.replace("P-20000,400", "P-20000,4OO");
    assert_eq!(
        unread(&text).map(|[said, _]| said),
        Ok("r.csv:20005: rated_volts is 4OO; this column holds numbers, optionally followed by V or kV\n\
            hint: write digits only, such as 6600, with no mark between thousands"
            .to_owned())
    );
    text.push_str("P-0,400,\n");
    assert_eq!(
        parse(&text),
        Err("r.csv:30005: winding is P-0, as on line 2, with other data; a winding has one row in the register\n\
             hint: delete the row that is wrong"
            .to_owned())
    );
}

/// Two numbers in one cell are one value only for the two voltages of a winding joined in star or in delta; it is unclear which of others
/// holds.
#[test]
fn a_cell_with_two_numbers_is_not_read_as_one_of_them() {
    for column in ["rated_kw", "interval_days", "minimum_mohm", "thermal_class", "rated_volts"] {
        for cell in
            ["100-180", "100–180", "100 180", "100..180", "100;180", "100 or 180", "100 (180)", "100+180", "155/130/90"]
        {
            let read = nameplate(&format!("winding,{column}\nP-1,{cell}\n"));
            assert_eq!(read.unread, [format!("{column} {cell}")]);
        }
    }
}

#[test]
fn windings_whose_names_look_alike_have_the_same_data_or_are_refused() {
    let read = |one: &str, other: &str, minimum: u32| {
        let text = format!("winding,minimum_mohm,aliases\n{one},5,\n{other},{minimum},\n");
        parse(&text).map(|register| register.len())
    };
    for (one, other) in [("P-101", "p-101"), ("P 101", "P101"), ("\u{e4}1", "a\u{308}1"), ("P-101", "P-101\u{200b}")] {
        let message = read(one, other, 500).err().unwrap_or_default();
        assert_eq!(
            message,
            format!(
                "r.csv:3: winding is {}, and {one} on line 2, with other data; the names differ only by case, blanks or Unicode form\n\
                 hint: delete the row that is wrong, or give two windings names that differ by more",
                crate::error::shown(other)
            )
        );
        assert_eq!(read(one, other, 5), Ok(2));
    }
    assert_eq!(read("P-101", "P-102", 500), Ok(2));
}

#[test]
fn a_minimum_is_read_in_the_unit_of_its_column_or_not_at_all() {
    let minimum = |header: &str, cell: &str| {
        let read = nameplate(&format!("winding,{header}\nP-1,{cell}\n"));
        (read.minimum.map(Resistance::as_megohms), read.unread.len())
    };
    for (header, cell, mohm) in [
        ("minimum_gohm", "0.5", 500.0),
        ("minimum_kohm", "5000", 5.0),
        ("minimum (k\u{3a9})", "5000", 5.0),
        ("min_mohm", "5", 5.0),
        ("minimum M\u{3a9}", "5", 5.0),
        ("minimum_gohm", "500 M\u{3a9}", 500.0),
    ] {
        assert_eq!(minimum(header, cell), (Some(mohm), 0), "{header} {cell}");
    }
    for header in [
        "minmum_mohm",
        "minmimum",
        "least M\u{3a9}",
        "lowest permitted M\u{3a9}",
        "minimum",
        "min",
        "limit",
        "alarm_mohm",
        "minimum_mohm_40c",
        "Grenzwert",
        "seuil",
        "l\u{ed}mite",
    ] {
        assert_eq!(minimum(header, "5"), (None, 1), "{header}");
        assert_eq!(minimum(header, ""), (None, 0), "{header}");
    }
    assert_eq!(
        unread("winding,minimum_mohm,Grenzwert\nP-1,5,100\nP-2,5,\n").map(|[said, _]| said),
        Ok("r.csv:2: Grenzwert is 100; this column may hold minimums, and its name has no unit, several units or more than that, so it is not read\n\
            hint: rename the column minimum_mohm, or say under [columns] in the policy file what it holds, - to leave it alone"
            .to_owned())
    );
    let mut mapping = Mapping::default();
    assert_eq!(mapping.add("Grenzwert", "-"), Ok(()));
    let told = Register::parse("r.csv", b"winding,Grenzwert\nP-1,100\n", None, false, &mapping);
    assert_eq!(told.map(|told| (told.unread.len(), told.left_alone)), Ok((0, vec!["Grenzwert".to_owned()])));
}

#[test]
fn another_number_with_decimals_settles_the_mark() {
    for text in [
        "winding,rated_volts,minimum_mohm\nP-1,400.5,29.125\n",
        "winding,minimum_mohm\nP-1,29.125\nP-2,5.25\n",
        "winding;rated_kw;minimum_mohm\nP-1;7,5;29,125\n",
    ] {
        let read = nameplate(text);
        assert_eq!((read.unread.len(), read.minimum.map(|limit| limit.as_megohms())), (0, Some(29.125)), "{text}");
    }
    // Two marks contradict each other.
    assert_eq!(nameplate("winding,rated_kw,minimum_mohm\nP-1,\"7,5\",29.125\nP-2,5.5,\n").unread.len(), 2);
    // A number of thousands, and words, settle nothing.
    for other in ["13.800", "P.5", "1.2.3"] {
        let text = format!("winding,rated_volts,minimum_mohm\nP-1,,29.125\nP-2,{other},\n");
        assert_eq!(nameplate(&text).unread.len(), 1, "{text}");
    }
}

#[test]
fn a_minimum_whose_mark_may_be_that_of_thousands_is_asked_about() {
    assert_eq!(
        unread("winding,minimum_mohm\nP-1,1.500\n").map(|[said, _]| said),
        Ok("r.csv:2: minimum_mohm is 1.500; this may be 1.5 or 1500\nhint: write 1.5 or 1500, whichever is meant"
            .to_owned())
    );
    for (text, count) in [
        ("winding;minimum_mohm\nP-1;1,500\n", 1),
        ("winding,minimum_mohm\nP-1,2.000 M\u{3a9}\n", 1),
        ("winding,minimum_mohm\nP-1,0.500\n", 0),
        ("winding,minimum_mohm\nP-1,1.50\n", 0),
    ] {
        assert_eq!(nameplate(text).unread.len(), count, "{text}");
    }
}

#[test]
fn a_drive_is_read_in_many_words_and_feared_in_every_other() {
    let fed = |cell: &str| nameplate(&format!("winding,drive_fed\nP-1,{cell}\n")).drive_fed;
    for cell in
        ["VFD", "vsd", "inverter", "converter", "ja", "oui", "s\u{ed}", "sim", "yes", "maybe", "DR-12", "\u{fffd}"]
    {
        assert_eq!(fed(cell), Some(true), "{cell}");
    }
    for cell in ["no", "nein", "non", "n\u{e3}o", "nee", "0"] {
        assert_eq!(fed(cell), Some(false), "{cell}");
    }
    assert_eq!((fed(""), fed("n/a")), (None, None));
}

#[test]
fn classes_in_degrees_are_read_and_half_a_year_is_no_year() {
    for class in ["155 °C", "155C", "155 ºc", "class 155"] {
        let read = nameplate(&format!("winding,thermal_class\nP-1,{class}\n"));
        assert_eq!(
            (read.thermal_class.map(|class| class.degrees_celsius()), read.unread.len()),
            (Some(155), 0),
            "{class}"
        );
    }
    for year in ["1965.5", "1969.9"] {
        let read = nameplate(&format!("winding,year_made\nP-1,{year}\n"));
        assert_eq!((read.year_made, read.unread), (None, vec![format!("year_made {year}")]));
    }
    assert_eq!(nameplate("winding,year_made\nP-1,2019.05\n").year_made, Some(2019));
}
