//! A Parquet or Arrow file says what the CSV file of the same content says.
#![allow(clippy::unwrap_used, reason = "a failed unwrap is a failed test")]

use super::*;

#[test]
fn files_are_known_by_their_first_bytes() {
    for (bytes, is) in [
        (&b"PAR1\x15\x04"[..], true),
        (b"PARE", true),
        (b"ARROW1\0\0\xff\xff\xff\xff", true),
        (b"\xff\xff\xff\xff\x10\0\0\0", true),
        (b"PAR", false),
        (b"ARROW1,tested_on", false),
        (b"winding,tested_on", false),
        (b"\xff\xfew\0", false),
    ] {
        assert_eq!(is_columnar(bytes), is, "{bytes:?}");
    }
}

#[cfg(not(feature = "parquet"))]
#[test]
fn a_program_without_the_feature_says_so() {
    let refused = open("fleet.parquet", b"PAR1".to_vec()).err().map(|failure| failure.to_string());
    assert_eq!(
        refused.as_deref(),
        Some(
            "fleet.parquet: this is a Parquet file, and this program was built without reading such files\n\
             hint: give the table as CSV or as a workbook, in Python as a table, or use a program built with the feature parquet"
        )
    );
}

#[cfg(feature = "parquet")]
mod with_files {
    use super::*;
    use crate::fleet::Fleet;
    use crate::ingest::mapping::Mapping;
    use crate::ingest::register::Register;
    use crate::ingest::{Ingested, Reading, ReadingRules};
    use crate::output::{Assessment, ListBy, arrow};
    use crate::spread::AllCores;
    use arrow_array::RecordBatch;
    use arrow_array::array::*;
    use arrow_array::types::Date32Type;
    use arrow_ipc::writer::{FileWriter, StreamWriter};
    use arrow_schema::DataType;
    use chrono::NaiveDate;
    use groundwall::assess::Terms;
    use groundwall::policy::Policy;
    use groundwall::units::Confidence;
    use parquet::arrow::ArrowWriter;
    use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
    use parquet::basic::{Compression, GzipLevel, ZstdLevel};
    use parquet::file::properties::WriterProperties;

    const HISTORY: &str = include_str!("../../../../../data-demo/history.csv");
    const REGISTER: &str = include_str!("../../../../../data-demo/register.csv");

    /// The columns of a CSV: days and numbers where every cell is one, and texts.
    fn typed(csv: &str) -> RecordBatch {
        let mut reader = csv::Reader::from_reader(csv.as_bytes());
        let header: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        let column = |place: usize| -> ArrayRef {
            let cells: Vec<Option<&str>> =
                rows.iter().map(|row| Some(&row[place]).filter(|cell| !cell.is_empty())).collect();
            let days: Option<Vec<Option<i32>>> = cells
                .iter()
                .map(|cell| match cell {
                    Some(cell) => cell.parse::<NaiveDate>().ok().map(|day| Some(Date32Type::from_naive_date(day))),
                    None => Some(None),
                })
                .collect();
            let numbers: Option<Vec<Option<f64>>> = cells
                .iter()
                .map(|cell| match cell {
                    Some(cell) => cell.parse::<f64>().ok().map(Some),
                    None => Some(None),
                })
                .collect();
            match (numbers, days) {
                (Some(numbers), _) => Arc::new(Float64Array::from(numbers)),
                (None, Some(days)) => Arc::new(Date32Array::from(days)),
                (None, None) => Arc::new(StringArray::from(cells)),
            }
        };
        let columns: Vec<_> = header.iter().enumerate().map(|(place, name)| (name.as_str(), column(place))).collect();
        arrow::table(columns).unwrap()
    }

    fn parquet_file(batch: &RecordBatch, compression: Compression) -> Vec<u8> {
        let properties =
            WriterProperties::builder().set_compression(compression).set_max_row_group_row_count(Some(500)).build();
        let mut writer = ArrowWriter::try_new(Vec::new(), batch.schema(), Some(properties)).unwrap();
        writer.write(batch).unwrap();
        writer.into_inner().unwrap()
    }

    /// The same table as a file of every kind.
    fn files(batch: &RecordBatch) -> Vec<(&'static str, Vec<u8>)> {
        let mut file = FileWriter::try_new(Vec::new(), &batch.schema()).unwrap();
        file.write(batch).unwrap();
        let mut stream = StreamWriter::try_new(Vec::new(), &batch.schema()).unwrap();
        let half = batch.num_rows() / 2;
        stream.write(&batch.slice(0, half)).unwrap();
        stream.write(&batch.slice(half, batch.num_rows() - half)).unwrap();
        vec![
            ("plain", parquet_file(batch, Compression::UNCOMPRESSED)),
            ("snappy", parquet_file(batch, Compression::SNAPPY)),
            ("gzip", parquet_file(batch, Compression::GZIP(GzipLevel::default()))),
            ("zstd", parquet_file(batch, Compression::ZSTD(ZstdLevel::default()))),
            ("lz4", parquet_file(batch, Compression::LZ4_RAW)),
            ("arrow", file.into_inner().unwrap()),
            ("stream", stream.into_inner().unwrap()),
        ]
    }

    fn read(name: &str, bytes: Vec<u8>) -> Result<Ingested, Failure> {
        let rules = ReadingRules::default();
        let mut reading = Reading::new(&rules);
        reading.add(name, bytes)?;
        Ok(reading.finish())
    }

    #[test]
    fn a_file_of_every_kind_holds_the_tests_of_the_csv() {
        let from_csv = read("history", HISTORY.as_bytes().to_vec()).unwrap();
        let batch = typed(HISTORY);
        assert_eq!(batch.column_by_name("tested_on").unwrap().data_type(), &DataType::Date32);
        assert_eq!(batch.column_by_name("winding_temp_c").unwrap().data_type(), &DataType::Float64);
        for (kind, bytes) in files(&batch) {
            let size = bytes.len();
            let found = read("history", bytes.clone()).unwrap();
            assert_eq!(found.tests(), from_csv.tests(), "{kind}");
            let (ledger, of_csv) = (&found.inputs[0], &from_csv.inputs[0]);
            assert_eq!((ledger.rows, ledger.accepted), (of_csv.rows, of_csv.accepted), "{kind}");
            assert_eq!(ledger.sha256, crate::digest::sha256(&bytes), "{kind}: the digest is that of the file");
            if kind == "zstd" {
                assert!(size * 3 < HISTORY.len(), "{size} bytes of {}", HISTORY.len());
            }
        }
        let from_csv = Register::parse("register", REGISTER.as_bytes(), None, false, &Mapping::default()).unwrap();
        for (kind, bytes) in files(&typed(REGISTER)) {
            let found = Register::parse("register", &bytes, None, false, &Mapping::default()).unwrap();
            assert_eq!(found.nameplates(), from_csv.nameplates(), "{kind}");
        }
    }

    #[test]
    fn damaged_files_end_in_a_sentence_or_in_rows_that_add_up() {
        let batch = typed(HISTORY).slice(0, 60);
        let mut seed = 7_u64;
        let mut next = |below: usize| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            usize::try_from(seed >> 33).unwrap() % below
        };
        let (mut refused, mut taken) = (0, 0);
        for kind in [parquet_file(&batch, Compression::SNAPPY), files(&typed(HISTORY)).pop().unwrap().1] {
            for _ in 0..400 {
                let mut bytes = kind.clone();
                for _ in 0..=next(3) {
                    let at = 4 + next(bytes.len() - 4);
                    bytes[at] = u8::try_from(next(256)).unwrap();
                }
                if next(4) == 0 {
                    bytes.truncate(4 + next(bytes.len() - 4));
                }
                match read("history", bytes) {
                    Ok(ingested) => {
                        let ledger = &ingested.inputs[0];
                        assert_eq!(ledger.rows, ledger.accepted + ledger.repeated + ledger.rejected);
                        taken += 1;
                    }
                    Err(failure) => {
                        assert!(failure.to_string().starts_with("history"), "{failure}");
                        refused += 1;
                    }
                }
            }
        }
        assert!(refused > 100 && taken > 100, "{refused} refused, {taken} taken");
    }

    #[test]
    fn what_cannot_be_read_is_named() {
        let cut = read("fleet.parquet", b"PAR1\0\0\0\0".to_vec()).err().map(|failure| failure.to_string());
        assert_eq!(
            cut.as_deref(),
            Some(
                "fleet.parquet: this is a Parquet file that cannot be read: Invalid Parquet file. Corrupt footer\n\
                 hint: write it again without encryption, or give the table as CSV"
            )
        );
        let zoned = TimestampMicrosecondArray::from(vec![0]).with_timezone("UTC");
        let batch = arrow::table(vec![
            ("winding", Arc::new(StringArray::from(vec!["P-1"])) as ArrayRef),
            ("tested_on", Arc::new(zoned)),
            ("r_60s", Arc::new(Float64Array::from(vec![400.0]))),
        ])
        .unwrap();
        let refused = read("fleet.parquet", parquet_file(&batch, Compression::SNAPPY)).err();
        assert_eq!(
            refused.map(|failure| failure.to_string()).as_deref(),
            Some(
                "fleet.parquet: column tested_on is of type Timestamp(µs, \"UTC\"); a column holds texts, numbers or dates\n\
                 hint: cast it, or leave the column out"
            )
        );
    }

    #[test]
    fn results_are_read_back_as_they_were_written() {
        let policy = Policy::default();
        let terms = Terms {
            policy: policy.clone(),
            as_of: NaiveDate::from_ymd_opt(2026, 11, 25).unwrap(),
            confidence: Confidence::from_fraction(0.9).unwrap(),
        };
        let (as_of, confidence) = (terms.as_of, terms.confidence);
        let ingested = read("history", HISTORY.as_bytes().to_vec()).unwrap();
        let inputs = ingested.inputs.clone();
        let mut series = Fleet::new(ingested, None, terms).judge(&AllCores, |judgement| judgement.assessment);
        ListBy::Series.sort(&mut series, |series| series);
        let assessment = Assessment { as_of, confidence, policy: &policy, inputs: &inputs, by: ListBy::Series, series };
        let expected = arrow::series(&assessment.series).unwrap();

        let bytes = arrow::parquet(&assessment).unwrap();
        let read = ParquetRecordBatchReaderBuilder::try_new(bytes::Bytes::from(bytes)).unwrap();
        assert_eq!(read.schema().metadata()["as_of"], "2026-11-25");
        let batches: Vec<RecordBatch> = read.build().unwrap().map(Result::unwrap).collect();
        assert_eq!(batches.len(), 1);
        assert_eq!(batches[0].columns(), expected.columns());

        let bytes = arrow::file(&assessment).unwrap();
        let read = arrow_ipc::reader::FileReader::try_new(std::io::Cursor::new(bytes), None).unwrap();
        let schema = read.schema();
        let batches: Vec<RecordBatch> = read.map(Result::unwrap).collect();
        assert_eq!(batches[0].columns(), expected.columns());
        assert_eq!(schema.metadata()["confidence"], "0.9");
        let days = batches[0].column_by_name("next_test_by").unwrap();
        assert_eq!(days.data_type(), &DataType::Date32);
        assert_eq!(batches[0].column_by_name("overdue_days").unwrap().data_type(), &DataType::Int64);
    }
}
