#include "support/faulty_vfs.h"

#include <sqlite3.h>

#include <atomic>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <new>

namespace ebbwatch::test {

struct FaultyVfs::Registration {
  sqlite3_vfs vfs{};
  sqlite3_vfs* real = nullptr;
};

namespace {

/// Lies in the memory that SQLite gives for a file; the real file follows it.
struct OpenFile {
  sqlite3_file base;
  FaultyVfs* owner;
  const char* path;  ///< SQLite keeps it while the file is open; null for nameless files.
  sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
};

OpenFile& open_file(sqlite3_file* file) {
  return *reinterpret_cast<OpenFile*>(file);
}

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

}  // namespace

/// The callbacks that SQLite gets.
class FaultyVfs::Calls {
 public:
  using Fault = FaultyVfs::Fault;

  /// @return 0 when the operation may go on.
  static int io(FaultyVfs& vfs, int code) {
    if (vfs.dead_) return code;
    return vfs.fault == Fault::io_error && vfs.faults.strikes() ? code : SQLITE_OK;
  }

  static int close(sqlite3_file* file) {
    return open_file(file).real()->pMethods->xClose(open_file(file).real());
  }

  static int read(sqlite3_file* file, void* data, int amount, sqlite3_int64 offset) {
    OpenFile& f = open_file(file);
    const bool struck =
        f.owner->fault == Fault::io_error && !f.owner->dead_ && f.owner->faults.strikes();
    return struck ? SQLITE_IOERR_READ : f.real()->pMethods->xRead(f.real(), data, amount, offset);
  }

  static int write(sqlite3_file* file, const void* data, int amount, sqlite3_int64 offset) {
    OpenFile& f = open_file(file);
    FaultyVfs& vfs = *f.owner;
    if (vfs.dead_) return SQLITE_IOERR_WRITE;
    if (vfs.fault != Fault::locked && vfs.faults.strikes()) {
      if (vfs.fault == Fault::disk_full) return SQLITE_FULL;
      if (vfs.fault == Fault::read_only) return SQLITE_READONLY;
      (void)f.real()->pMethods->xWrite(f.real(), data, amount / 2, offset);
      return SQLITE_IOERR_WRITE;
    }
    return f.real()->pMethods->xWrite(f.real(), data, amount, offset);
  }

  static int truncate(sqlite3_file* file, sqlite3_int64 size) {
    OpenFile& f = open_file(file);
    const int code = io(*f.owner, SQLITE_IOERR_TRUNCATE);
    return code != SQLITE_OK ? code : f.real()->pMethods->xTruncate(f.real(), size);
  }

  static int sync(sqlite3_file* file, int flags) {
    OpenFile& f = open_file(file);
    int code = io(*f.owner, SQLITE_IOERR_FSYNC);
    if (code == SQLITE_OK) code = f.real()->pMethods->xSync(f.real(), flags);
    if (code == SQLITE_OK && f.owner->remembers_ && f.path != nullptr)
      f.owner->synced_[f.path] = content(f);
    return code;
  }

  static int file_size(sqlite3_file* file, sqlite3_int64* size) {
    return open_file(file).real()->pMethods->xFileSize(open_file(file).real(), size);
  }

  static int lock(sqlite3_file* file, int level) {
    OpenFile& f = open_file(file);
    const int code = taken(*f.owner, SQLITE_IOERR_LOCK);
    return code != SQLITE_OK ? code : f.real()->pMethods->xLock(f.real(), level);
  }

  static int unlock(sqlite3_file* file, int level) {
    return open_file(file).real()->pMethods->xUnlock(open_file(file).real(), level);
  }

  static int check_reserved_lock(sqlite3_file* file, int* result) {
    return open_file(file).real()->pMethods->xCheckReservedLock(open_file(file).real(), result);
  }

  static int file_control(sqlite3_file* file, int what, void* argument) {
    return open_file(file).real()->pMethods->xFileControl(open_file(file).real(), what, argument);
  }

  static int sector_size(sqlite3_file* file) {
    return open_file(file).real()->pMethods->xSectorSize(open_file(file).real());
  }

  static int device_characteristics(sqlite3_file* file) {
    return open_file(file).real()->pMethods->xDeviceCharacteristics(open_file(file).real());
  }

  static int shm_map(sqlite3_file* file, int page, int size, int extend, void volatile** memory) {
    OpenFile& f = open_file(file);
    const int code = io(*f.owner, SQLITE_IOERR_SHMMAP);
    return code != SQLITE_OK ? code
                             : f.real()->pMethods->xShmMap(f.real(), page, size, extend, memory);
  }

  static int shm_lock(sqlite3_file* file, int offset, int count, int flags) {
    OpenFile& f = open_file(file);
    const int code =
        (flags & SQLITE_SHM_LOCK) != 0 ? taken(*f.owner, SQLITE_IOERR_SHMLOCK) : SQLITE_OK;
    return code != SQLITE_OK ? code : f.real()->pMethods->xShmLock(f.real(), offset, count, flags);
  }

  static void shm_barrier(sqlite3_file* file) {
    open_file(file).real()->pMethods->xShmBarrier(open_file(file).real());
  }

  static int shm_unmap(sqlite3_file* file, int remove) {
    return open_file(file).real()->pMethods->xShmUnmap(open_file(file).real(), remove);
  }

  static int open(sqlite3_vfs* layer, const char* path, sqlite3_file* file, int flags,
                  int* flags_out) {
    static const sqlite3_io_methods methods = {2,
                                               close,
                                               read,
                                               write,
                                               truncate,
                                               sync,
                                               file_size,
                                               lock,
                                               unlock,
                                               check_reserved_lock,
                                               file_control,
                                               sector_size,
                                               device_characteristics,
                                               shm_map,
                                               shm_lock,
                                               shm_barrier,
                                               shm_unmap,
                                               nullptr,
                                               nullptr};
    FaultyVfs& vfs = owner(layer);
    file->pMethods = nullptr;
    int code = io(vfs, SQLITE_CANTOPEN);
    const bool makes = (flags & SQLITE_OPEN_CREATE) != 0;
    if (code == SQLITE_OK && makes && vfs.fault == Fault::read_only && vfs.faults.strikes())
      code = SQLITE_CANTOPEN;
    if (code != SQLITE_OK) return code;
    auto* opened = new (file) OpenFile{{nullptr}, &vfs, path};
    sqlite3_vfs* real = vfs.registration_->real;
    const std::string before = vfs.remembers_ && path != nullptr ? bytes_of(path) : "";
    code = real->xOpen(real, path, opened->real(), flags, flags_out);
    if (code != SQLITE_OK) return code;
    if (vfs.remembers_ && path != nullptr) vfs.synced_.emplace(path, before);
    opened->base.pMethods = &methods;
    return SQLITE_OK;
  }

  static int remove(sqlite3_vfs* layer, const char* path, int sync_folder) {
    FaultyVfs& vfs = owner(layer);
    const int code = io(vfs, SQLITE_IOERR_DELETE);
    if (code != SQLITE_OK) return code;
    vfs.synced_.erase(path);
    return vfs.registration_->real->xDelete(vfs.registration_->real, path, sync_folder);
  }

 private:
  static FaultyVfs& owner(sqlite3_vfs* layer) { return *static_cast<FaultyVfs*>(layer->pAppData); }

  static int taken(FaultyVfs& vfs, int io_code) {
    if (vfs.fault == Fault::locked && !vfs.dead_)
      return vfs.faults.strikes() ? SQLITE_BUSY : SQLITE_OK;
    return vfs.dead_ ? SQLITE_OK : io(vfs, io_code);
  }

  static std::string content(OpenFile& file) {
    sqlite3_int64 size = 0;
    (void)file.real()->pMethods->xFileSize(file.real(), &size);
    std::string bytes(static_cast<std::size_t>(size), '\0');
    if (size > 0)
      (void)file.real()->pMethods->xRead(file.real(), bytes.data(), static_cast<int>(size), 0);
    return bytes;
  }
};

FaultyVfs::FaultyVfs() : registration_(std::make_unique<Registration>()) {
  static std::atomic<int> made = 0;
  name_ = "faulty-" + std::to_string(++made);
  sqlite3_vfs* real = sqlite3_vfs_find(nullptr);
  registration_->real = real;
  // Everything that is not about files (time, random bytes, paths) is the real layer's, which takes
  // its own data from the copied structure.
  sqlite3_vfs& vfs = registration_->vfs;
  vfs = *real;
  vfs.pNext = nullptr;
  vfs.zName = name_.c_str();
  vfs.szOsFile = static_cast<int>(sizeof(OpenFile)) + real->szOsFile;
  vfs.pAppData = this;
  vfs.xOpen = Calls::open;
  vfs.xDelete = Calls::remove;
  vfs.xSleep = [](sqlite3_vfs*, int microseconds) { return microseconds; };  // Waits cost no time.
  sqlite3_vfs_register(&vfs, 0);
}

FaultyVfs::~FaultyVfs() {
  sqlite3_vfs_unregister(&registration_->vfs);
}

void FaultyVfs::restore_power() {
  for (const auto& [path, bytes] : synced_) {
    std::ofstream out(path, std::ios::binary | std::ios::trunc);
    out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    std::filesystem::remove(path + "-shm");
  }
  synced_.clear();
  dead_ = false;
}

}  // namespace ebbwatch::test
