//! Writes the demo's recorded streams into `recorded-streams/demo/`, from its scenario. They are
//! embedded in the executable; a test checks that they are what this makes.

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../recorded-streams/demo");
    std::fs::create_dir_all(folder)?;
    for (name, stream) in benchhand_daemon::demo::make_streams() {
        let mut text = Vec::new();
        stream.write_to(&mut text)?;
        std::fs::write(format!("{folder}/{name}"), text)?;
    }
    Ok(())
}
