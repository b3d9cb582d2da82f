//! A job with its stock: `cargo run --example plan_with_stock -- examples/first-job.toml`

use warpwise::inputs::{InputFile, Inputs};
use warpwise::{job::Job, nest::Continue, output, plan, ply};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let path = std::env::args().nth(1).ok_or("name a job file")?;
    let (job, _warnings) = Job::read(&path, &std::fs::read_to_string(&path)?)?;
    let folder = std::path::Path::new(&path).with_file_name("");
    // Asked for every drawing and every file of stock that the job names.
    let open = &mut |name: &str| {
        let bytes = std::fs::read(folder.join(name))?;
        Ok(vec![InputFile::new(name, bytes)])
    };
    let (inputs, _warnings) = Inputs::read(job, open)?;
    let (pieces, _warnings) = ply::pieces(&inputs)?;
    let plan = plan::build(&pieces, &plan::Settings::default(), &|_| Continue::Yes)?;
    for file in output::all(&output::ProvenPlan::prove(plan)?) {
        let path = std::path::Path::new("rudder-plan").join(&file.path);
        std::fs::create_dir_all(path.with_file_name(""))?;
        std::fs::write(path, file.bytes)?;
    }
    Ok(())
}
