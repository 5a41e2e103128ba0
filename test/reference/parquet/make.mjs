// Makes duckdb-v1.parquet and duckdb-v2.parquet with DuckDB 1.5.6 (npm @duckdb/node-api), 2026-11-25:
//   mkdir /tmp/duck && cd /tmp/duck && npm init -y && npm i @duckdb/node-api@1.5.6-r.1 && node <this file> <this folder>
// The values are whole-number formulas of the row, written out again in parquet-columns.test.ts.
import { createRequire } from 'node:module';

const { DuckDBInstance } = createRequire(`${process.cwd()}/`)('@duckdb/node-api');
const folder = process.argv[2];
const db = await (await DuckDBInstance.create()).connect();
for (const version of ['v1', 'v2']) {
  await db.run(`copy (
    select (i * 0.25)::double as f64,
           case when i % 5 = 0 then null else (i * 0.5)::float end as f32_missing,
           (i * 1000 - 7)::integer as i32,
           (4294967295 - i)::uinteger as u32,
           (i % 3)::usmallint as u16,
           (i // 100)::utinyint as u8,
           (i * 3000000000)::bigint as i64,
           case when i % 4 = 0 then null else i::integer end as i32_missing,
           (i % 2 = 0) as flag,
           'mark ' || (i % 10) as text,
           (i || '-' || (i * 7919))::varchar as text_unique,
           date '2026-01-01' as day
    from range(1000) t(i) order by i
  ) to '${folder}/duckdb-${version}.parquet' (format parquet, parquet_version ${version}, compression snappy, row_group_size 2048)`);
}
