//! Archives as workbooks are: taken apart, and put together again without packing, so that what is mutated inside is read.

use groundwall_engine::ingest::unpack::{check_archive, part_of};

/// The parts of an archive by name.
pub(crate) fn parts(bytes: &[u8]) -> Vec<(String, Vec<u8>)> {
    let names = check_archive("seed", bytes).unwrap_or_default();
    names.into_iter().filter_map(|name| part_of(bytes, &name).map(|part| (name, part))).collect()
}

/// An archive of stored parts.
pub(crate) fn stored(parts: &[(String, Vec<u8>)]) -> Vec<u8> {
    let (mut bytes, mut directory) = (Vec::new(), Vec::new());
    for (name, part) in parts {
        let mut crc = flate2::Crc::new();
        crc.update(part);
        let size = u32::try_from(part.len()).unwrap_or(u32::MAX);
        let length = u16::try_from(name.len()).unwrap_or(u16::MAX);
        let start = u32::try_from(bytes.len()).unwrap_or(u32::MAX);
        let mut entry = Vec::new();
        for field in [20_u16, 0, 0, 0, 0x21] {
            entry.extend(field.to_le_bytes());
        }
        for field in [crc.sum(), size, size] {
            entry.extend(field.to_le_bytes());
        }
        entry.extend(length.to_le_bytes());
        entry.extend(0_u16.to_le_bytes());
        bytes.extend(b"PK\x03\x04");
        bytes.extend(&entry);
        bytes.extend(name.as_bytes());
        bytes.extend(part);
        directory.extend(b"PK\x01\x02\x14\x00");
        directory.extend(&entry);
        directory.extend([0; 10]);
        directory.extend(start.to_le_bytes());
        directory.extend(name.as_bytes());
    }
    let count = u16::try_from(parts.len()).unwrap_or(u16::MAX).to_le_bytes();
    let (start, size) = (bytes.len() as u32, directory.len() as u32);
    bytes.extend(directory);
    bytes.extend(b"PK\x05\x06\0\0\0\0");
    bytes.extend(count);
    bytes.extend(count);
    bytes.extend(size.to_le_bytes());
    bytes.extend(start.to_le_bytes());
    bytes.extend([0, 0]);
    bytes
}
