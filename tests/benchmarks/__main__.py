"""Every benchmark, one table after the other: `python tests/benchmarks`."""

import bench_blends
import bench_index
import bench_names
import bench_recipes
import bench_shopping
import bench_startup
import bench_tables

if __name__ == "__main__":
    bench_startup.main()
    bench_index.main()
    bench_names.main()
    bench_recipes.main()
    bench_blends.main()
    bench_shopping.main(None)
    bench_tables.main()
